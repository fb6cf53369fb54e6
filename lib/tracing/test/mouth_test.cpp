#include "mouth.h"

#include <gtest/gtest.h>

#include <cmath>

namespace anfract::tracing {
namespace {

constexpr double tip_mm = 0.9;  ///< radius of the rounded tip, its centre at the origin

/// Depth in a rounded root tip that points along z, with a conical dent about an axis through the
/// tip.
Brick dented_tip(double dent_mm, double mouth_mm) {
    Brick depth;
    depth.geometry.size = {41, 41, 45};
    depth.geometry.spacing_mm = Vec3::Constant(0.1);
    depth.geometry.origin_P = Vec3(-2, -2, -2.5);
    for (int k = 0; k < 45; ++k) {
        for (int j = 0; j < 41; ++j) {
            for (int i = 0; i < 41; ++i) {
                const Vec3 p = depth.geometry.to_patient(Vec3(i, j, k));
                const double across = std::hypot(p.x(), p.y());
                const double whole = tip_mm - (p.z() > 0 ? p.norm() : across);
                const double dent = std::max(0.0, dent_mm * (1 - across / mouth_mm));
                depth.grey.push_back(static_cast<float>(p.z() > 0 ? whole - dent : whole));
            }
        }
    }
    return depth;
}

TEST(MouthCap, GoesOnAcrossADentAsTheSurfaceRoundIt) {
    const Polyline line({Vec3(0, 0, -2), Vec3(0, 0, 0.6)});
    const Brick depth = dented_tip(0.4, 0.35);
    const auto cap = mouth_cap(line, 0.3, 0.1, depth);
    ASSERT_TRUE(cap);
    // The tip of the sphere is where it would be without the dent; a quadric is not quite a sphere
    // about another pole, hence 0.03 mm.
    for (const double under : {0.0, 0.2, 0.4}) {
        const Vec3 p(0, 0, tip_mm - under);
        const double dented = interpolate(depth, depth.geometry.to_voxel(p));
        EXPECT_LT(dented, under - 0.3);
        EXPECT_NEAR(cap->depth_mm(p, dented), under, 0.03);
    }
}

TEST(MouthCap, LeavesTheSurfaceBesideTheMouthAlone) {
    const Polyline line({Vec3(0, 0, -2), Vec3(0, 0, 0.6)});
    const auto cap = mouth_cap(line, 0.3, 0.1, dented_tip(0.4, 0.35));
    ASSERT_TRUE(cap);
    EXPECT_EQ(cap->depth_mm(Vec3(0.8, 0, 0.2), 0.05), 0.05);
    EXPECT_EQ(cap->depth_mm(Vec3(0, 0, -2), 0.9), 0.9);
}

TEST(MouthCap, IsNotGuessedWhereNoSurfaceIsSeen) {
    const Polyline outside({Vec3(0, 0, 1.2), Vec3(0, 0, 1.8)});
    EXPECT_FALSE(mouth_cap(outside, 0.3, 0.1, dented_tip(0.4, 0.35)));
    Brick deep = dented_tip(0, 0.35);
    std::fill(deep.grey.begin(), deep.grey.end(), 5.0F);
    EXPECT_FALSE(mouth_cap(Polyline({Vec3(0, 0, -2), Vec3(0, 0, 0.6)}), 0.3, 0.1, deep));
}

}  // namespace
}  // namespace anfract::tracing
