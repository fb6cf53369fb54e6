#include "surface_mesh.h"

#include <gtest/gtest.h>

#include <Eigen/Geometry>
#include <map>
#include <numbers>

#include "synthetic.h"

namespace anfract::tracing {
namespace {

Surface ball(double radius_mm, double cell_mm) {
    const GridGeometry g = synthetic::grid(40, 40, 40, 0.1);
    Brick field{g, std::vector<float>(g.voxel_count())};
    for (int k = 0; k < 40; ++k) {
        for (int j = 0; j < 40; ++j) {
            for (int i = 0; i < 40; ++i) {
                field.at(i, j, k) =
                    float(radius_mm - 0.1 * (Vec3(i, j, k) - Vec3(20, 20, 20)).norm());
            }
        }
    }
    return zero_surface(field, cell_mm);
}

TEST(ZeroSurface, OfABallIsClosedAndTurnedOutward) {
    const Surface surface = ball(1.5, 0.2);
    std::map<std::pair<int, int>, int> edges;
    double volume = 0;
    for (const auto& t : surface.triangles) {
        for (std::size_t a = 0; a < 3; ++a) ++edges[{t[a], t[(a + 1) % 3]}];
        volume +=
            surface.vertices_P[std::size_t(t[0])].dot(surface.vertices_P[std::size_t(t[1])].cross(
                surface.vertices_P[std::size_t(t[2])])) /
            6;
    }
    // Closed and oriented: every edge is walked once each way.
    for (const auto& [edge, count] : edges) {
        EXPECT_EQ(count, 1);
        EXPECT_EQ((edges.count({edge.second, edge.first})), 1U);
    }
    // Flat facets of 0.2 mm on a ball of 1.5 mm lie inside it by a few per cent of its volume.
    EXPECT_NEAR(volume, 4.0 / 3 * std::numbers::pi * 1.5 * 1.5 * 1.5, 0.45);
}

TEST(ZeroSurface, LiesOnTheBall) {
    const Surface surface = ball(1.5, 0.2);
    const Vec3 centre = synthetic::grid(40, 40, 40, 0.1).to_patient(Vec3(20, 20, 20));
    for (const Vec3& v : surface.vertices_P) EXPECT_NEAR((v - centre).norm(), 1.5, 0.015);
}

TEST(ZeroSurface, ClosesABodyThatTheBrickCuts) {
    const Surface surface = ball(2.5, 0.25);
    std::map<std::pair<int, int>, int> edges;
    for (const auto& t : surface.triangles) {
        for (std::size_t a = 0; a < 3; ++a) ++edges[{t[a], t[(a + 1) % 3]}];
    }
    for (const auto& [edge, count] : edges) {
        EXPECT_EQ((edges.count({edge.second, edge.first})), 1U);
    }
}

}  // namespace
}  // namespace anfract::tracing
