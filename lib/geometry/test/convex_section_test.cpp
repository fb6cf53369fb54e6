#include "anfract/geometry/convex_section.h"

#include <gtest/gtest.h>

#include <cmath>
#include <numbers>

namespace anfract {
namespace {

const Ellipse oval{0.6, 0.2, Angle::degrees(30)};

TEST(Ellipse, HasRadiusAndSupportOfTheTextbook) {
    EXPECT_NEAR(oval.radius_mm(Angle::degrees(30)), 0.6, 1e-12);
    EXPECT_NEAR(oval.radius_mm(Angle::degrees(120)), 0.2, 1e-12);
    EXPECT_NEAR(oval.support_mm(Angle::degrees(30)), 0.6, 1e-12);
    EXPECT_NEAR(oval.area_mm2(), std::numbers::pi * 0.12, 1e-12);
    // The support is the largest projection of the rim, here by brute force.
    double largest = 0;
    for (int k = 0; k < 3600; ++k) {
        const Angle theta = Angle::degrees(0.1 * k);
        const double along = oval.radius_mm(theta) * std::cos((theta - Angle::degrees(75)).rad());
        largest = std::max(largest, along);
    }
    EXPECT_NEAR(oval.support_mm(Angle::degrees(75)), largest, 1e-6);
}

TEST(Ellipse, OfEqualAreaKeepsTheAreaOfTheCircle) {
    const Ellipse ellipse = ellipse_of_equal_area(0.5, 2.5, Angle());
    EXPECT_NEAR(ellipse.area_mm2(), std::numbers::pi * 0.0625, 1e-12);
    EXPECT_NEAR(ellipse.semi_long_mm / ellipse.semi_short_mm, 2.5, 1e-12);
}

TEST(ConvexSection, CircumscribesACircleWithTheKnownArea) {
    // A regular n-gon about the unit circle has the area n tan(pi / n).
    const auto section = ConvexSection::circumscribed({1, 1, Angle()}, 24);
    EXPECT_NEAR(polygon_area(section.vertices()), 24 * std::tan(std::numbers::pi / 24), 1e-12);
    EXPECT_EQ(section.vertices().size(), 24u);
}

TEST(ConvexSection, AreaConvergesToTheEllipse) {
    const auto excess = [](int count) {
        return polygon_area(ConvexSection::circumscribed(oval, count).vertices()) /
                   oval.area_mm2() -
               1;
    };
    EXPECT_NEAR(std::log2(excess(24) / excess(48)), 2.0, 0.1);
    EXPECT_GT(excess(48), 0);
}

TEST(ConvexSection, ShrinkingLeavesRoomForTheCentreOfADisc) {
    const auto room = ConvexSection::circumscribed({0.5, 0.5, Angle()}).shrunk_by(0.2);
    EXPECT_TRUE(room.contains({0.29, 0}));
    EXPECT_FALSE(room.contains({0.31, 0}));
    EXPECT_TRUE(ConvexSection::circumscribed(oval).shrunk_by(0.21).vertices().empty());
}

TEST(ConvexSection, HullOfAConvexRimIsTheRim) {
    Eigen::ArrayXd radii(360);
    for (int k = 0; k < 360; ++k) radii[k] = oval.radius_mm(Angle::degrees(k));
    const auto hull = ConvexSection::hull(radii, 36);
    for (int j = 0; j < 36; ++j) {
        EXPECT_NEAR(hull.support_mm()[j], oval.support_mm(hull.direction(j)), 1e-4);
    }
}

TEST(ConvexSection, HullBridgesAWaist) {
    Eigen::ArrayXd radii(360);  // a figure of eight: wide at 0 and 180 degrees, narrow between
    for (int k = 0; k < 360; ++k)
        radii[k] = 0.2 + 0.3 * std::pow(std::cos(Angle::degrees(k).rad()), 2);
    const auto hull = ConvexSection::hull(radii);
    EXPECT_TRUE(hull.contains({0, 0.2}));
    EXPECT_GT(polygon_area(hull.vertices()), 0.5 * (radii * radii).sum() * std::numbers::pi / 180);
}

}  // namespace
}  // namespace anfract
