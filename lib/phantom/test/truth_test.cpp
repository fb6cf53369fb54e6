// The truth of a phantom agrees with itself and with the solid it was read from.

#include <gtest/gtest.h>

#include <cmath>

#include "anfract/geometry/polyline.h"
#include "anfract/phantom/phantom.h"

namespace anfract {
namespace {

class Truth : public testing::TestWithParam<std::string> {
  protected:
    void SetUp() override {
        PhantomOptions options;
        options.kind = GetParam();
        options.seed = 11;
        options.voxel_mm = 0.5;
        Result<Phantom> made = make_phantom(options, Progress());
        ASSERT_TRUE(made.has_value()) << made.error().sentence();
        phantom = *made;
    }
    Phantom phantom;
};

std::vector<Vec3> points_of(const Canal& canal) {
    std::vector<Vec3> points;
    for (const CanalSample& s : canal.samples) points.push_back(s.point_P);
    return points;
}

TEST_P(Truth, DepthIsStraightToTheOrificeThenAlongTheCanal) {
    for (const Canal& canal : phantom.truth.canals) {
        const Polyline line(points_of(canal));
        const double straight = (canal.orifice_P - phantom.truth.reference_P).norm();
        EXPECT_NEAR(canal.length_mm, line.length_mm(), 1e-9);
        EXPECT_NEAR(canal.samples.front().depth_mm, straight, 1e-9);
        EXPECT_NEAR(canal.depth_to_foramen_mm, straight + canal.length_mm, 1e-9);
        EXPECT_NEAR(canal.samples.back().depth_mm, canal.depth_to_foramen_mm, 1e-9);
        for (std::size_t i = 1; i < canal.samples.size(); ++i) {
            const double gap = canal.samples[i].depth_mm - canal.samples[i - 1].depth_mm;
            EXPECT_GT(gap, 0) << canal.name << " sample " << i;
            EXPECT_LE(gap, 0.25) << canal.name << " sample " << i;
        }
    }
}

TEST_P(Truth, CanalsLieInDentineAndOpenAtTheForamen) {
    for (const Canal& canal : phantom.truth.canals) {
        EXPECT_NEAR(phantom.tooth_distance_mm(canal.foramen_P), 0, 0.01) << canal.name;
        for (const CanalSample& s : canal.samples) {
            EXPECT_LT(phantom.pulp_distance_mm(s.point_P), 0.0)
                << canal.name << " at " << s.depth_mm;
            if (s.depth_mm > canal.depth_to_foramen_mm - 1.5) continue;
            // More than 1.5 mm from the foramen no canal comes near the surface.
            EXPECT_GT(*s.wall_min_mm, 0.3) << canal.name << " at " << s.depth_mm;
        }
    }
}

TEST_P(Truth, WallsEndOnTheOuterSurface) {
    for (const Canal& canal : phantom.truth.canals) {
        for (std::size_t i = 0; i < canal.samples.size(); i += 10) {
            const CanalSample& s = canal.samples[i];
            const Polyline line(points_of(canal));
            // Along the thinnest direction: centre + radius + wall lies on the surface. The radius
            // is that of the ellipse in this direction, between the short and the long half.
            const Vec3 inner =
                s.point_P + s.wall_min_toward * (s.diameter_short_mm / 2 + *s.wall_min_mm);
            const Vec3 outer =
                s.point_P + s.wall_min_toward * (s.diameter_long_mm / 2 + *s.wall_min_mm);
            if (*s.wall_min_mm > 0) {
                EXPECT_LT(phantom.tooth_distance_mm(inner), 0.02)
                    << canal.name << " at " << s.depth_mm;
                EXPECT_GT(phantom.tooth_distance_mm(outer), -0.02)
                    << canal.name << " at " << s.depth_mm;
            }
        }
    }
}

TEST_P(Truth, BranchesShareTheirCommonPart) {
    for (const Canal& canal : phantom.truth.canals) {
        if (!canal.joins && !canal.leaves) continue;
        const Branching& branching = canal.joins ? *canal.joins : *canal.leaves;
        const Canal* parent = phantom.truth.find(branching.canal);
        ASSERT_NE(parent, nullptr);
        const Polyline line(points_of(*parent));
        for (const CanalSample& s : canal.samples) {
            const bool shared =
                canal.joins ? s.depth_mm >= branching.depth_mm : s.depth_mm <= branching.depth_mm;
            const double distance = line.nearest(s.point_P).distance_mm;
            if (shared) {
                EXPECT_LT(distance, 0.005) << canal.name << " at " << s.depth_mm;
            }
        }
        if (canal.joins) {
            EXPECT_EQ(canal.foramen_P, parent->foramen_P);
            EXPECT_GT(line.nearest(canal.orifice_P).distance_mm, 1.0);
        } else {
            EXPECT_EQ(canal.orifice_P, parent->orifice_P);
            EXPECT_GT(line.nearest(canal.foramen_P).distance_mm, 0.8);
        }
    }
}

INSTANTIATE_TEST_SUITE_P(Kinds, Truth,
                         testing::Values("lower-molar", "upper-molar", "lower-premolar",
                                         "upper-lateral", "narrowed"),
                         [](const auto& parameter) {
                             std::string name = parameter.param;
                             for (char& c : name) {
                                 if (c == '-') c = '_';
                             }
                             return name;
                         });

}  // namespace
}  // namespace anfract
