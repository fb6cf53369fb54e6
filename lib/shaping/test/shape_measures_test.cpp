#include "anfract/shaping/shape_measures.h"

#include <gtest/gtest.h>

#include "test_lumens.h"

namespace anfract {
namespace {

// Worked by hand from the definition of [GambillEtAl1996]: (1.20-0.95) - (1.00-0.90) = 0.15,
// 0.10/0.25 = 0.40.
TEST(Gambill, AgreesWithTheWorkedExample) {
    const Centring centring = gambill(1.20, 0.95, 1.00, 0.90);
    EXPECT_NEAR(centring.transport_mm, 0.15, 1e-12);
    ASSERT_TRUE(centring.ratio);
    EXPECT_NEAR(*centring.ratio, 0.40, 1e-12);
    EXPECT_FALSE(centring.wall_grew);
}

TEST(Gambill, CallsEqualRemovalCentred) {
    const Centring centring = gambill(1.2, 1.0, 0.9, 0.7);
    EXPECT_NEAR(centring.transport_mm, 0.0, 1e-12);
    ASSERT_TRUE(centring.ratio);
    EXPECT_NEAR(*centring.ratio, 1.0, 1e-9);
}

TEST(Gambill, HasNoRatioWhenNothingWasTaken) {
    const Centring centring = gambill(1.2, 1.2, 0.9, 0.9);
    EXPECT_EQ(centring.transport_mm, 0.0);
    EXPECT_FALSE(centring.ratio);
    EXPECT_FALSE(centring.wall_grew);
}

TEST(Gambill, FlagsAWallThatGrew) {
    const Centring centring = gambill(1.2, 1.25, 0.9, 0.8);
    EXPECT_TRUE(centring.wall_grew);
    EXPECT_FALSE(centring.ratio);
}

TEST(Gambill, ChangesSignWithTheSides) {
    EXPECT_NEAR(gambill(1.0, 0.9, 1.2, 0.95).transport_mm, -0.15, 1e-12);
}

TEST(ShapeMeasures, VolumeOfATaperedCanalIsThatOfAFrustum) {
    testing::CanalShape shape;
    shape.length_mm = 19;
    shape.orifice_diameter_mm = 0.45 + 0.06 * 19;
    shape.foramen_diameter_mm = 0.45;
    const double D = 1.59, d = 0.45;
    const double expected = std::numbers::pi * 19 / 12 * (D * D + D * d + d * d);
    EXPECT_NEAR(expected, 17.142, 5e-4);  // the closed form itself
    // The trapezoid rule on a quadratic area: error h^2 L taper^2 pi/24 < 1e-4 mm^3.
    EXPECT_NEAR(volume_mm3(testing::lumen(shape)), expected, 1e-4);
}

TEST(ShapeMeasures, FindsTheThinnestWallAndItsDepth) {
    Lumen lumen = testing::lumen({});
    lumen.wall_mm(37, 5) = 0.42;
    lumen.wall_mm(50, 0) = std::numeric_limits<double>::quiet_NaN();
    const auto thinnest = thinnest_wall_mm(lumen);
    ASSERT_TRUE(thinnest);
    EXPECT_EQ(thinnest->value, 0.42);
    EXPECT_NEAR(thinnest->depth_mm, 8 + 3.7, 1e-9);
}

TEST(ShapeMeasures, SaysNothingOfWallsThatAreNotKnown) {
    Lumen lumen = testing::lumen({});
    lumen.wall_mm = std::numeric_limits<double>::quiet_NaN();
    EXPECT_FALSE(thinnest_wall_mm(lumen));
}

TEST(ShapeMeasures, TransportIsFoundWhereOneSideWasTaken) {
    const Lumen before = testing::lumen({});
    Lumen after = before;
    after.radius_mm(100, 0) += 0.25;
    after.radius_mm(100, 12) += 0.10;
    const AtDepth transport = largest_transport_mm(before, after);
    EXPECT_NEAR(transport.value, 0.15, 1e-12);
    EXPECT_NEAR(transport.depth_mm, 18, 1e-9);
    EXPECT_EQ(largest_transport_mm(before, after, 18.5).value, 0.0);
}

// The worked example of [GambillEtAl1996] on the sheet: 0.25 taken on one side, 0.10 on the other.
TEST(ShapeMeasures, CentringAndTheAxisFollowTheSideThatWasTaken) {
    const Lumen before = testing::lumen({});
    Lumen after = before;
    after.radius_mm(100, 0) += 0.25;
    after.radius_mm(100, 12) += 0.10;
    const auto centring = centring_at(before, after, 18);
    ASSERT_TRUE(centring);
    EXPECT_NEAR(*centring, 0.40, 1e-12);
    EXPECT_FALSE(centring_at(before, after, 12));
    const Vec3 moved = axis_P(after)[100] - axis_P(before)[100];
    EXPECT_GT(moved.dot(before.n1_P[100]), 0);
    EXPECT_NEAR(moved.dot(before.n2_P[100]), 0, 1e-12);
}

// A circle of radius r whose middle lies d off the centreline has its centroid there, plain
// geometry.
TEST(ShapeMeasures, TheAxisOfAnEccentricCircleIsItsMiddle) {
    Lumen lumen = testing::lumen({});
    const double r = 0.3, d = 0.1;
    for (int j = 0; j < lumen.theta_count(); ++j) {
        const double theta = 2 * std::numbers::pi * j / lumen.theta_count();
        lumen.radius_mm(50, j) =
            d * std::cos(theta) + std::sqrt(r * r - d * d * std::pow(std::sin(theta), 2));
    }
    const Vec3 middle = axis_P(lumen)[50] - lumen.point_P[50];
    EXPECT_NEAR(middle.dot(lumen.n1_P[50]), d, 1e-6);
    EXPECT_NEAR(middle.dot(lumen.n2_P[50]), 0, 1e-12);
}

TEST(ShapeMeasures, ThinnestPlaceCarriesItsDirection) {
    const Lumen before = testing::lumen({});
    Lumen after = before;
    after.radius_mm(60, 6) += 0.1;
    after.wall_mm(60, 6) -= 0.1;
    const auto place = thinnest_touched_place(before, after, 100);
    ASSERT_TRUE(place);
    EXPECT_NEAR(place->wall_mm, 1.4, 1e-12);
    EXPECT_NEAR(place->toward_P.dot(before.n2_P[60]), 1, 1e-12);  // a quarter turn of 24 directions
}

TEST(ShapeMeasures, DiameterIsInterpolatedBetweenStations) {
    testing::CanalShape shape;
    shape.spacing_mm = 0.5;
    EXPECT_NEAR(diameter_mm_at(testing::lumen(shape), 8 + 3.3), 0.8 - 0.6 * 3.3 / 12, 1e-9);
}

}  // namespace
}  // namespace anfract
