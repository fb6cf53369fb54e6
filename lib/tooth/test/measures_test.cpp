#include "anfract/tooth/measures.h"

#include <gtest/gtest.h>

#include <Eigen/Geometry>
#include <limits>
#include <random>

#include "canals.h"

namespace anfract {
namespace {

// Canals of canals.h run along +z; a lower left molar of a patient hanging upside down, so to
// speak, whose buccal side is +x and whose mesial side is -y whichever way the roots point.
const ClinicalFrame frame = clinical_frame("36", {0, 0, 1});

Canal turned(const std::vector<Piece>& pieces, double turn_deg, double spacing_mm = 0.2) {
    auto points = flat_curve(pieces, spacing_mm);
    const Mat3 turn =
        Eigen::AngleAxisd(turn_deg * std::numbers::pi / 180, Vec3::UnitZ()).toRotationMatrix();
    for (Vec3& point : points) point = turn * point;
    return canal_through(points);
}

TEST(Measures, ACurveTowardDistalShowsOnTheRadiographAndOneTowardBuccalDoesNot) {
    const CanalMeasures distal = measure(turned({{8}, arc(5, 40), {2}}, 90), frame);
    EXPECT_NEAR(distal.clinical.schneider_deg, 27.35, 0.2);
    EXPECT_NEAR(distal.across.schneider_deg, 0, 1e-6);
    EXPECT_NEAR(distal.hidden_schneider_deg, 0, 0.05);
    EXPECT_EQ(direction_name(frame, distal.bends.at(0).toward_P), "D");
    const CanalMeasures buccal = measure(turned({{8}, arc(5, 40), {2}}, 0), frame);
    EXPECT_NEAR(buccal.clinical.schneider_deg, 0, 1e-6);
    EXPECT_NEAR(buccal.across.schneider_deg, 27.35, 0.2);
    EXPECT_NEAR(buccal.hidden_schneider_deg, 27.35, 0.2);
    EXPECT_NEAR(buccal.hidden_curvature_deg, 40, 1);
    EXPECT_EQ(direction_name(frame, buccal.bends.at(0).toward_P), "B");
}

TEST(Measures, TheWorstViewLooksSquarelyAtTheCurve) {
    // Bent toward +x +y, 30 degrees round from +x: seen best along the normal of its plane, which
    // lies 120 degrees round from buccal (+x), on the distal side; the opposite view is 60 degrees
    // toward mesial.
    const CanalMeasures m = measure(turned({{8}, arc(5, 50), {2}}, 30), frame);
    EXPECT_NEAR(m.worst_turn_deg, 60, 2.0);
    EXPECT_NEAR(m.worst.schneider_deg, m.space.schneider_deg, 0.1);
    EXPECT_GE(m.worst.schneider_deg, m.clinical.schneider_deg);
    EXPECT_GE(m.worst.schneider_deg, m.across.schneider_deg);
}

TEST(Measures, OfAHelixGiveItsCurvatureAndTorsion) {
    // a = 2, b = 1: curvature 0.4 and torsion 0.2 per mm [DoCarmo1976].
    std::vector<Vec3> points;
    for (int i = 0; i <= 100; ++i) {
        const double t = 0.1 * i / std::sqrt(5.0);
        points.push_back({2 * std::cos(t), 2 * std::sin(t), t});
    }
    const CanalMeasures m = measure(canal_through(points), frame);
    EXPECT_NEAR(m.profile.curvature_per_mm[50], 0.4, 0.004);
    EXPECT_NEAR(m.profile.torsion_per_mm[50], 0.2, 0.004);
    EXPECT_NEAR(m.space.total_curvature_deg, 4.0 * 180 / std::numbers::pi, 3);
    EXPECT_NEAR(m.torsion_deg, 2.0 * 180 / std::numbers::pi, 4);
    EXPECT_NEAR(m.least_radius_mm, 2.5, 0.1);
}

TEST(Measures, KnowAnSFromAPlainCurve) {
    EXPECT_TRUE(measure(turned({{4}, arc(5, 30), {1}, arc(5, -30), {2}}, 90), frame).s_shaped);
    EXPECT_FALSE(measure(turned({{8}, arc(5, 40), {2}}, 90), frame).s_shaped);
}

TEST(Measures, GiveTheSharpestPlaceWithItsDepth) {
    const CanalMeasures m = measure(turned({{5}, arc(10, 20), {1}, arc(4, 30), {1}}, 90), frame);
    EXPECT_NEAR(m.least_radius_mm, 4, 0.2);
    EXPECT_GT(m.least_radius_depth_mm, 5 + 3.49 + 1);
    EXPECT_LT(m.least_radius_depth_mm, 5 + 3.49 + 1 + 2.1);
    EXPECT_EQ(measure(turned({{9}}, 0), frame).least_radius_mm,
              std::numeric_limits<double>::infinity());
}

TEST(Measures, ReadWidthsAtTheUsualPlaces) {
    const CanalMeasures m = measure(turned({{12}}, 0, 0.23), frame);
    // The canal of canals.h is 0.3 mm wide at the foramen and 0.04 wider per mm.
    ASSERT_EQ(m.widths.size(), 4u);
    EXPECT_NEAR(m.widths[0].diameter_mm, 0.3 + 0.48, 1e-9);
    EXPECT_NEAR(m.widths[1].diameter_mm, 0.5, 1e-9);
    EXPECT_NEAR(m.widths[3].diameter_mm, 0.34, 1e-9);
    EXPECT_EQ(m.widths[3].place, "1 mm");
    EXPECT_NEAR(m.widths[3].depth_mm, 11, 1e-9);
    EXPECT_EQ(measure(turned({{1.5}}, 0), frame).widths.size(), 2u);
}

TEST(Measures, FindTheThinnestWallButNotTheForamen) {
    Canal canal = turned({{12}}, 0);
    EXPECT_FALSE(measure(canal, frame).thinnest_wall);
    for (CanalSample& s : canal.samples) {
        s.wall_min_mm = s.depth_mm > 11 ? 0.1 : 0.8 + 0.1 * std::abs(s.depth_mm - 4);
        s.wall_min_toward = {0, 1, 0};
    }
    const auto wall = measure(canal, frame).thinnest_wall;
    ASSERT_TRUE(wall);
    EXPECT_NEAR(wall->wall_mm, 0.8, 1e-9);
    EXPECT_NEAR(wall->depth_mm, 4, 1e-9);
    EXPECT_EQ(direction_name(frame, wall->toward_P), "D");
}

TEST(Measures, DoNotChangeWithTheDepthsOfTheCrown) {
    Canal canal = turned({{8}, arc(5, 40), {2}}, 60);
    const CanalMeasures before = measure(canal, frame);
    for (CanalSample& s : canal.samples) s.depth_mm += 8;
    const CanalMeasures after = measure(canal, frame);
    EXPECT_DOUBLE_EQ(before.worst.schneider_deg, after.worst.schneider_deg);
    EXPECT_NEAR(after.least_radius_depth_mm - before.least_radius_depth_mm, 8, 1e-9);
}

TEST(Measures, BearScatterOfThePoints) {
    // As if the points had been written to a few hundredths of a millimetre.
    std::mt19937 random(7);
    std::normal_distribution<double> scatter(0.0, 0.01);
    for (int copy = 0; copy < 5; ++copy) {
        auto points = flat_curve({{8}, arc(5, 40), {2}}, 0.15);
        for (Vec3& point : points) point += Vec3(scatter(random), scatter(random), scatter(random));
        const CanalMeasures m = measure(canal_through(points), frame);
        EXPECT_NEAR(m.across.schneider_deg, 27.35, 1.5);
        EXPECT_NEAR(m.across.tangent_deg, 40, 1.5);
        ASSERT_EQ(m.bends.size(), 1u);
        EXPECT_NEAR(m.bends[0].angle_deg, 40, 6);
        EXPECT_NEAR(m.bends[0].from_mm, 8, 0.6);
        EXPECT_FALSE(m.s_shaped);
    }
}

TEST(Measures, ThePublishedClassesKeepTheirGaps) {
    EXPECT_EQ(schneider_class(5), "straight");
    EXPECT_EQ(schneider_class(7), "straight to moderate");
    EXPECT_EQ(schneider_class(10), "moderate");
    EXPECT_EQ(schneider_class(22), "moderate to severe");
    EXPECT_EQ(schneider_class(25), "severe");
}

TEST(Measures, OfAToothTakeItsAxisFromTheCanals) {
    Tooth tooth;
    tooth.fdi = "36";
    EXPECT_EQ(measure(tooth).error().code, ErrorCode::NotFound);
    tooth.canals.push_back(turned({{8}, arc(5, 40), {2}}, 90));
    const auto m = measure(tooth);
    ASSERT_TRUE(m);
    EXPECT_LT((m->frame.apical - Vec3(0, 0, 1)).norm(), 1e-3);
    EXPECT_EQ(m->code.text(), "1 36 1");
    EXPECT_EQ(m->roots.size(), 1u);
}

}  // namespace
}  // namespace anfract
