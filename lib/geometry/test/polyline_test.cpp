#include "anfract/geometry/polyline.h"

#include <gtest/gtest.h>

#include <cmath>

namespace anfract {

const Polyline corner({{0, 0, 0}, {3, 0, 0}, {3, 0, 0}, {3, 4, 0}});

TEST(Polyline, DropsRepeatedPointsAndMeasuresLength) {
    EXPECT_EQ(corner.points().size(), 3u);
    EXPECT_DOUBLE_EQ(corner.length_mm(), 7.0);
}

TEST(Polyline, ReadsPointsByArcLength) {
    EXPECT_TRUE(corner.at(5).isApprox(Vec3(3, 2, 0)));
    EXPECT_TRUE(corner.at(-1).isApprox(Vec3(0, 0, 0)));
    EXPECT_TRUE(corner.at(99).isApprox(Vec3(3, 4, 0)));
}

TEST(Polyline, ReversalMirrorsArcLength) {
    for (double s : {0.5, 3.0, 6.9}) {
        EXPECT_TRUE(corner.reversed().at(7 - s).isApprox(corner.at(s)));
    }
}

TEST(Polyline, ResamplesEvenlyAndKeepsEnds) {
    const Polyline even = corner.resampled(0.5);
    EXPECT_EQ(even.points().size(), 15u);
    EXPECT_TRUE(even.points().back().isApprox(Vec3(3, 4, 0)));
}

TEST(Polyline, FindsTheNearestPlace) {
    const auto nearest = corner.nearest({5, 1, 0});
    EXPECT_DOUBLE_EQ(nearest.distance_mm, 2.0);
    EXPECT_DOUBLE_EQ(nearest.s_mm, 4.0);
}

}  // namespace anfract
