#include "anfract/tooth/bends.h"

#include <gtest/gtest.h>

#include <Eigen/Geometry>

#include "canals.h"

namespace anfract {
namespace {

TEST(Bends, FindOneArcWithItsEndsAngleAndRadius) {
    for (double spacing : {0.1, 0.25}) {
        const auto bends = bends_of(Polyline(flat_curve({{6}, arc(5, 40), {4}}, spacing)));
        ASSERT_EQ(bends.size(), 1u);
        EXPECT_NEAR(bends[0].from_mm, 6.0, 0.1);
        EXPECT_NEAR(bends[0].to_mm, 6 + 3.491, 0.1);
        EXPECT_NEAR(bends[0].angle_deg, 40, 1.0);
        EXPECT_NEAR(bends[0].radius_mm, 5, 0.25);
        EXPECT_NEAR(bends[0].least_radius_mm, 5, 0.25);
        EXPECT_GT(std::abs(bends[0].plane_normal_P.y()), 0.999);
        EXPECT_GT(bends[0].toward_P.x(), 0.7);
    }
}

// Both arcs lie in one plane, so that their angles add. A canal of one long bend, with a ripple
// within its centreline's error, was once stated as two.
TEST(Bends, GoOnAfterAStraightThatIsShorterThanTheWindow) {
    const auto one = bends_of(Polyline(flat_curve({{5}, arc(5, 25), {1}, arc(4, 20), {4}}, 0.1)));
    ASSERT_EQ(one.size(), 1u);
    EXPECT_NEAR(one[0].angle_deg, 45, 1.5);
    const auto two = bends_of(Polyline(flat_curve({{5}, arc(5, 25), {3}, arc(4, 20), {4}}, 0.1)));
    EXPECT_EQ(two.size(), 2u);
}

TEST(Bends, TellAnSFromTwoBendsToTheSameSide) {
    const auto s = bends_of(Polyline(flat_curve({{4}, arc(5, 30), {1}, arc(5, -30), {2}}, 0.1)));
    ASSERT_EQ(s.size(), 2u);
    EXPECT_TRUE(is_s_shaped(s));
    const auto direct = bends_of(Polyline(flat_curve({{4}, arc(5, 30), arc(5, -30), {2}}, 0.1)));
    ASSERT_EQ(direct.size(), 2u);
    EXPECT_TRUE(is_s_shaped(direct));
    EXPECT_NEAR(direct[0].to_mm, 4 + 2.618, 0.3);
    const auto same = bends_of(Polyline(flat_curve({{4}, arc(5, 30), {3}, arc(5, 30), {2}}, 0.1)));
    ASSERT_EQ(same.size(), 2u);
    EXPECT_FALSE(is_s_shaped(same));
    const auto slight =
        bends_of(Polyline(flat_curve({{4}, arc(5, 30), {2}, arc(8, -7), {2}}, 0.1)));
    EXPECT_FALSE(is_s_shaped(slight));
}

TEST(Bends, SeparateTwoBendsInPlanesAtRightAngles) {
    auto points = flat_curve({{5}, arc(5, 30), {0.5}}, 0.1);
    // A second arc that leaves the plane of the first: in the plane of the end tangent and y.
    const Vec3 end = points.back(), along = (end - points[points.size() - 2]).normalized();
    for (const Vec3& p : flat_curve({{0.5}, arc(5, 30), {1}}, 0.1)) {
        if (p.z() > 0) points.push_back(end + p.z() * along + p.x() * Vec3(0, 1, 0));
    }
    const auto bends = bends_of(Polyline(points));
    ASSERT_EQ(bends.size(), 2u);
    EXPECT_LT(std::abs(bends[0].plane_normal_P.dot(bends[1].plane_normal_P)), 0.1);
    EXPECT_FALSE(is_s_shaped(bends));
}

TEST(Bends, ASteadyGentleCurveIsOneBend) {
    const auto bends = bends_of(Polyline(flat_curve({arc(30, 25)}, 0.2)));
    ASSERT_EQ(bends.size(), 1u);
    EXPECT_NEAR(bends[0].from_mm, 0, 1e-9);
    EXPECT_NEAR(bends[0].angle_deg, 25, 0.5);
    EXPECT_NEAR(bends[0].radius_mm, 30, 0.5);
}

TEST(Bends, AStraightCanalHasNone) {
    EXPECT_TRUE(bends_of(Polyline(flat_curve({{15}}, 0.2))).empty());
    EXPECT_TRUE(bends_of(Polyline({{0, 0, 0}, {0, 0, 1}})).empty());
}

}  // namespace
}  // namespace anfract
