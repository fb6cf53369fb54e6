#include "anfract/shaping/remove.h"

#include <gtest/gtest.h>

#include <Eigen/Geometry>

#include "anfract/shaping/shape_measures.h"
#include "test_lumens.h"

namespace anfract {
namespace {

using testing::CanalShape;
using testing::file;

/// The device with its tip at `tip_depth_mm`, its axis `offset_P` off the centreline throughout.
Passage held(const Lumen& lumen, double tip_depth_mm, const Vec3& offset_P = {0, 0, 0}) {
    Passage passage;
    passage.reaches_mm = tip_depth_mm;
    for (double depth : {lumen.depth_mm.front(), tip_depth_mm}) {
        passage.profile.depth_mm.push_back(depth);
        passage.profile.offset_P_mm.push_back(offset_P);
        passage.profile.strain.push_back(0);
        passage.profile.contact_N_per_mm.push_back(0);
        passage.profile.contact_toward_P.push_back(Vec3::Zero());
    }
    return passage;
}

Lumen cylinder(double length_mm, double diameter_mm) {
    CanalShape shape;
    shape.length_mm = length_mm;
    shape.orifice_diameter_mm = shape.foramen_diameter_mm = diameter_mm;
    return testing::lumen(shape);
}

// pi L/12 (D^2 + D d + d^2) for size 30 taper 0.04 over 16 mm, plain geometry.
TEST(Remove, CoaxialTaperLeavesAFrustum) {
    const Lumen before = cylinder(16, 0.05);
    const Lumen shaped = after(before, file(0.30, 0.04), held(before, before.depth_mm.back()));
    EXPECT_NEAR(volume_mm3(shaped), 5.259, 1e-3);
}

TEST(Remove, WallLosesWhatTheCanalGains) {
    const Lumen before = cylinder(16, 0.2);
    const Lumen shaped = after(before, file(0.25, 0.06), held(before, 20, Vec3(0.02, 0.01, 0)));
    EXPECT_TRUE(((shaped.radius_mm - before.radius_mm) + (shaped.wall_mm - before.wall_mm))
                    .abs()
                    .maxCoeff() < 1e-12);
    EXPECT_GE((shaped.radius_mm - before.radius_mm).minCoeff(), 0.0);
}

TEST(Remove, NothingHappensBelowTheTip) {
    const Lumen before = cylinder(12, 0.1);
    const Lumen shaped = after(before, file(0.40, 0.02), held(before, 15));
    for (int i = 0; i < before.station_count(); ++i) {
        const bool touched = (shaped.radius_mm.row(i) > before.radius_mm.row(i)).any();
        EXPECT_EQ(touched, before.depth_mm[std::size_t(i)] <= 15 + 1e-9);
    }
}

TEST(Remove, NothingHappensAboveTheWorkingPart) {
    const Lumen before = cylinder(12, 0.1);
    const Lumen shaped = after(before, file(0.40, 0.02, 4), held(before, 20));
    EXPECT_EQ(shaped.radius_mm(0, 0), before.radius_mm(0, 0));
    EXPECT_GT(shaped.radius_mm(before.station_count() - 1, 0), before.radius_mm(0, 0));
}

TEST(Remove, APassiveDeviceLeavesTheCanalAsItIs) {
    const Lumen before = cylinder(12, 0.1);
    const Device plugger = file(0.4, 0.02, 16, DeviceKind::Plugger);
    EXPECT_TRUE((after(before, plugger, held(before, 20)).radius_mm == before.radius_mm).all());
}

// A circle of radius r whose centre lies u toward theta = 0 reaches r + u there and r - u opposite,
// so the Gambill transport of a canal it wholly swallows is 2u.
TEST(Remove, AnOffsetInstrumentTransportsByTwiceItsOffset) {
    const Lumen before = cylinder(12, 0.1);
    const double offset = 0.04;
    const Lumen shaped = after(before, file(0.40, 0.0), held(before, 20, offset * before.n1_P[0]));
    EXPECT_NEAR(largest_transport_mm(before, shaped).value, 2 * offset, 1e-9);
    EXPECT_NEAR(shaped.radius_mm(60, 0), 0.24, 1e-9);
    EXPECT_NEAR(shaped.radius_mm(60, 12), 0.16, 1e-9);
}

TEST(Remove, DoesNotDependOnWhereTheCanalLies) {
    CanalShape shape;
    shape.arc_radius_mm = 8;
    shape.arc_deg = 40;
    const Lumen before = testing::lumen(shape);
    const Mat3 turn = Eigen::AngleAxisd(0.7, Vec3(1, 2, -1).normalized()).toRotationMatrix();
    Lumen turned = before;
    for (auto* vectors : {&turned.point_P, &turned.tangent_P, &turned.n1_P, &turned.n2_P}) {
        for (Vec3& v : *vectors) v = turn * v;
    }
    const Vec3 offset(0.01, 0.03, 0);
    const double tip = before.depth_mm.back();
    const Lumen a = after(before, file(0.3, 0.04), held(before, tip, offset));
    const Lumen b = after(turned, file(0.3, 0.04), held(turned, tip, turn * offset));
    EXPECT_LT((a.radius_mm - b.radius_mm).abs().maxCoeff(), 1e-12);
}

TEST(Remove, WallsThatAreNotKnownStaySo) {
    Lumen before = cylinder(12, 0.1);
    before.wall_mm(60, 3) = std::numeric_limits<double>::quiet_NaN();
    const Lumen shaped = after(before, file(0.40, 0.02), held(before, 20));
    EXPECT_TRUE(std::isnan(shaped.wall_mm(60, 3)));
    EXPECT_FALSE(std::isnan(shaped.wall_mm(60, 4)));
}

TEST(Remove, WearGrowsWithForceAndPasses) {
    const Lumen before = cylinder(12, 0.6);
    Passage passage = held(before, 20);
    passage.profile.contact_N_per_mm = {0.5, 0.5};
    passage.profile.contact_toward_P = {before.n1_P[0], before.n1_P[0]};
    RemovalOptions options;
    options.wear_mm_per_N_per_mm = 0.01;
    options.passes = 3;
    const Lumen shaped = after(before, file(0.3, 0.0), passage, options);
    EXPECT_NEAR(shaped.radius_mm(50, 0) - 0.3, 0.01 * 0.5 * 3, 1e-12);
    EXPECT_NEAR(shaped.radius_mm(50, 12), 0.3, 1e-12);
}

}  // namespace
}  // namespace anfract
