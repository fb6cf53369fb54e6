#include "minimal_path.h"

#include <gtest/gtest.h>

#include <cmath>

#include "synthetic.h"

namespace anfract::tracing {
namespace {

TEST(CheapestPaths, CostTheLengthInAUniformMedium) {
    const GridGeometry g = synthetic::grid(21, 21, 21, 0.1);
    const std::vector<float> price(g.voxel_count(), 2.0F);
    const PathField field = cheapest_paths(price, g, {g.index(10, 10, 10)}, {1e9F}, {});
    EXPECT_NEAR(field.cost[g.index(20, 10, 10)], 2.0, 1e-4);
    EXPECT_NEAR(field.cost[g.index(20, 20, 20)], 2 * std::sqrt(3.0), 1e-4);
    // With 26 neighbours no direction costs more than 1.13 times its length: the greatest is toward
    // (1, tan(pi/8) ...), closed form of the chamfer norm.
    EXPECT_LT(field.cost[g.index(18, 14, 12)], 1.13 * 2 * 0.1 * std::sqrt(64.0 + 16 + 4));
}

TEST(CheapestPaths, FollowACurvedTubeThroughDearGround) {
    const GridGeometry g = synthetic::grid(60, 20, 60, 0.1);
    // A quarter circle of radius 4 mm in the plane j = 10.
    std::vector<float> price(g.voxel_count(), 5.0F);
    const auto from_arc = [&](std::size_t n) {
        const double i = double(n % 60), j = double(n / 60 % 20), k = double(n / 1200);
        return std::hypot(std::hypot(i, k) * 0.1 - 4.0, (j - 10) * 0.1);
    };
    for (std::size_t n = 0; n < price.size(); ++n) {
        if (from_arc(n) < 0.15) price[n] = 0.1F;
    }
    const PathField field = cheapest_paths(price, g, {g.index(40, 10, 0)}, {1e9F}, {});
    const auto path = field.path_to(g.index(0, 10, 40));
    ASSERT_GT(path.size(), 40U);
    for (const std::size_t n : path) EXPECT_LT(from_arc(n), 0.2);
}

TEST(CheapestPaths, DoNotEnterForbiddenVoxelsAndStopAtTheLimit) {
    const GridGeometry g = synthetic::grid(11, 3, 3, 1.0);
    std::vector<float> price(g.voxel_count(), 1.0F);
    for (int j = 0; j < 3; ++j) {
        for (int k = 0; k < 3; ++k) price[g.index(8, j, k)] = INFINITY;
    }
    const PathField field = cheapest_paths(price, g, {g.index(0, 1, 1)}, {5.5F}, {});
    EXPECT_FALSE(field.path_to(g.index(5, 1, 1)).empty());
    EXPECT_TRUE(field.path_to(g.index(7, 1, 1)).empty());
    EXPECT_TRUE(field.path_to(g.index(10, 1, 1)).empty());
}

TEST(CheapestPaths, EndALittleBeyondTheFirstGoalAndLeaveOutWhatIsShut) {
    const GridGeometry g = synthetic::grid(21, 3, 3, 1.0);
    const std::vector<float> price(g.voxel_count(), 1.0F);
    PathReach reach{1e9F};
    reach.is_goal = [&](std::size_t n) { return n == g.index(10, 1, 1); };
    reach.beyond = 1.2F;
    reach.is_shut = [&](std::size_t n) { return n == g.index(4, 1, 1); };
    const PathField field = cheapest_paths(price, g, {g.index(0, 1, 1)}, reach, {});
    // Two diagonal steps round the shut voxel in place of two straight ones.
    const double to_goal = 8 + 2 * std::sqrt(2.0);
    EXPECT_NEAR(field.cost[g.index(10, 1, 1)], to_goal, 1e-5);
    EXPECT_TRUE(field.path_to(g.index(4, 1, 1)).empty());
    EXPECT_NEAR(field.cost[g.index(11, 1, 1)], to_goal + 1, 1e-5);
    EXPECT_TRUE(field.path_to(g.index(12, 1, 1)).empty());
    EXPECT_LE(field.cost[field.order.back()], to_goal + 1.2);
}

}  // namespace
}  // namespace anfract::tracing
