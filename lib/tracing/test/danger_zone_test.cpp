#include "danger_zone.h"

#include <gtest/gtest.h>

#include <cmath>
#include <numbers>

namespace anfract::tracing {
namespace {

constexpr double canal_mm = 0.4;

/// A straight canal of 10 mm down the patient's z axis in tooth 36, whose mesial is forward (-y):
/// the root's surface lies 1.5 mm from its middle, but distally `distal_mm` at a depth of 14 mm.
/// `flat`: the surface is the plane y = distal_mm there, else only one direction is short.
Canal canal_with_thin_wall(double distal_mm, bool flat) {
    Canal canal;
    canal.name = "ML";
    canal.depth_to_foramen_mm = 20;
    WallSheet sheet;
    sheet.theta_count = 24;
    for (int n = 0; n <= 40; ++n) {
        CanalSample sample;
        sample.depth_mm = 10 + 0.25 * n;
        sample.point_P = Vec3(0, 0, -sample.depth_mm);
        sample.diameter_mm = sample.diameter_long_mm = sample.diameter_short_mm = canal_mm;
        std::vector<double> wall(24, 1.5 - canal_mm / 2);
        for (int t = 0; t < 24 && n == 16; ++t) {
            // Apical tangent -z, zero +x: theta turns from +x to -y, so distal (+y) is t = 18.
            const double off = std::abs(t - 18) * std::numbers::pi / 12;
            if (flat && off < 1) wall[std::size_t(t)] = distal_mm / std::cos(off) - canal_mm / 2;
            if (!flat && t == 18) wall[18] = distal_mm - canal_mm / 2;
        }
        canal.samples.push_back(sample);
        sheet.first_direction.emplace_back(1, 0, 0);
        sheet.wall_mm.push_back(wall);
    }
    canal.wall_sheet = sheet;
    return canal;
}

TEST(DangerZone, IsTheThinnestWallTowardTheFurcation) {
    const ClinicalFrame frame = clinical_frame("36", Vec3(0, 0, -1));
    const auto zone = danger_zone(canal_with_thin_wall(0.9, true), frame);
    ASSERT_TRUE(zone);
    EXPECT_NEAR(zone->wall_mm, 0.9 - canal_mm / 2, 1e-9);
    EXPECT_NEAR(zone->depth_mm, 14, 1e-9);
    EXPECT_NEAR(zone->below_orifice_mm, 4, 1e-9);
    EXPECT_NEAR(zone->hollow_mm, 0, 1e-9);  // a plane has none
}

// Neighbours 30 degrees away at 1.5 mm: their chord stands at 1.5 cos 30 = 1.299 mm.
TEST(DangerZone, SaysHowDeepTheRootIsHollow) {
    const ClinicalFrame frame = clinical_frame("36", Vec3(0, 0, -1));
    const auto zone = danger_zone(canal_with_thin_wall(1.1, false), frame);
    ASSERT_TRUE(zone);
    EXPECT_NEAR(zone->hollow_mm, 1.5 * std::cos(std::numbers::pi / 6) - 1.1, 1e-9);
}

TEST(DangerZone, LooksOnlyTowardTheFurcationAndOnlyInItsRoots) {
    // Of an incisor distal is +x: the plane is seen 60 degrees from there, 30 from its normal.
    const ClinicalFrame incisor = clinical_frame("31", Vec3(0, 0, -1));
    const auto zone = danger_zone(canal_with_thin_wall(0.9, true), incisor);
    ASSERT_TRUE(zone);
    EXPECT_NEAR(zone->wall_mm, 0.9 / std::cos(std::numbers::pi / 6) - canal_mm / 2, 1e-9);
    EXPECT_TRUE(in_danger_root("36", "ML"));
    EXPECT_TRUE(in_danger_root("26", "MB2"));
    EXPECT_FALSE(in_danger_root("36", "D"));
    EXPECT_FALSE(in_danger_root("26", "P"));
    EXPECT_FALSE(in_danger_root("34", "MB"));
    EXPECT_FALSE(danger_zone(canal_with_thin_wall(0.9, true), ClinicalFrame{}));
}

}  // namespace
}  // namespace anfract::tracing
