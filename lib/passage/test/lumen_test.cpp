#include "anfract/passage/lumen.h"

#include <gtest/gtest.h>

#include <Eigen/Geometry>

#include "canals.h"

namespace anfract {
namespace {

using test::canal_of;
using test::CanalShape;

TEST(Lumen, StationsAreEvenAndRunFromOrificeToForamen) {
    const CanalShape shape;
    const auto lumen = lumen_of(canal_of(shape));
    ASSERT_TRUE(lumen);
    EXPECT_DOUBLE_EQ(lumen->depth_mm.front(), 8);
    EXPECT_NEAR(lumen->depth_mm.back(), 8 + shape.length_mm(), 2e-4);
    EXPECT_LE(lumen->spacing_mm(), 0.1);
    EXPECT_NEAR((lumen->point_P.back() - shape.point(shape.length_mm())).norm(), 0, 1e-9);
    for (int i = 0; i < lumen->station_count(); ++i) {
        EXPECT_NEAR(lumen->n1_P[i].cross(lumen->n2_P[i]).dot(lumen->tangent_P[i]), 1, 1e-9);
    }
}

TEST(Lumen, KeepsTheWidthOfRoundSections) {
    const auto lumen = lumen_of(canal_of({}));
    ASSERT_TRUE(lumen);
    EXPECT_NEAR(lumen->radius_mm(0, 7), 0.3, 1e-9);
    EXPECT_NEAR(lumen->radius_mm(lumen->station_count() - 1, 3), 0.15, 1e-9);
}

// long_axis_deg counts from the patient's x axis, right-handed about the apical tangent.
TEST(Lumen, AnOvalKeepsItsDirection) {
    Canal canal = canal_of({.angle_deg = 20});
    for (CanalSample& sample : canal.samples) {
        sample.diameter_long_mm = 0.8;
        sample.diameter_short_mm = 0.4;
        sample.long_axis_deg = 30;
    }
    const auto lumen = lumen_of(canal, 0.1, 24);
    ASSERT_TRUE(lumen);
    // At the orifice the tangent is z, n1 is x: column 2 looks 30 degrees from x toward y.
    EXPECT_NEAR(lumen->radius_mm(0, 2), 0.4, 1e-9);
    EXPECT_NEAR(lumen->radius_mm(0, 8), 0.2, 1e-9);
    EXPECT_NEAR(lumen->n2_P[0].y(), 1, 1e-9);
}

TEST(Lumen, AWallSheetIsTurnedIntoTheFrame) {
    Canal canal = canal_of({.angle_deg = 20});
    WallSheet sheet;
    sheet.theta_count = 4;
    for (std::size_t k = 0; k < canal.samples.size(); ++k) {
        sheet.first_direction.push_back(Vec3::UnitY());
        sheet.wall_mm.push_back({1, 2, 3, 4});  // toward y, -x, -y, x
    }
    canal.wall_sheet = sheet;
    const auto lumen = lumen_of(canal, 0.1, 8);
    ASSERT_TRUE(lumen);
    EXPECT_NEAR(lumen->wall_mm(0, 0), 4, 1e-9);
    EXPECT_NEAR(lumen->wall_mm(0, 2), 1, 1e-9);
    EXPECT_NEAR(lumen->wall_mm(0, 4), 2, 1e-9);
    EXPECT_NEAR(lumen->wall_mm(0, 5), 2.5, 1e-9);
}

TEST(Lumen, WallsThatAreNotKnownAreNotNumbers) {
    const auto lumen = lumen_of(canal_of({}));
    ASSERT_TRUE(lumen);
    EXPECT_TRUE(lumen->wall_mm.isNaN().all());
}

TEST(Lumen, ComplainsAboutACanalThatSwingsOnTheSpot) {
    Canal canal = canal_of({});
    for (std::size_t k = 0; k < canal.samples.size(); ++k) {
        canal.samples[k].point_P = Vec3(0.09 * double(k % 2), 0, 0);
    }
    EXPECT_FALSE(lumen_of(canal));
}

TEST(Lumen, ComplainsAboutACanalWithoutExtent) {
    Canal canal = canal_of({});
    canal.samples.resize(1);
    EXPECT_FALSE(lumen_of(canal));
    canal = canal_of({});
    for (CanalSample& sample : canal.samples) sample.point_P = Vec3(1, 2, 3);
    const auto lumen = lumen_of(canal);
    ASSERT_FALSE(lumen);
    EXPECT_EQ(lumen.error().code, ErrorCode::BadInput);
}

}  // namespace
}  // namespace anfract
