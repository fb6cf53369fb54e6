#include "ridge.h"

#include <gtest/gtest.h>

#include "synthetic.h"

namespace anfract::tracing {
namespace {

constexpr double voxel_mm = 0.125;
constexpr double ridge_grey = 0.06 * (synthetic::dentine - synthetic::pulp);

class TwoWays : public testing::Test {
  protected:
    const GridGeometry g_ = synthetic::grid(32, 20, 24, voxel_mm);

    std::vector<std::size_t> chain_at(int i) const {
        std::vector<std::size_t> chain;
        for (int k = 4; k < 20; ++k) chain.push_back(g_.index(i, 10, k));
        return chain;
    }
    /// Two ways 1 mm apart along whatever `inside` encloses, given in voxels across.
    double parted(const std::function<bool(double, double)>& inside) const {
        const Brick brick = synthetic::body_in_dentine(
            g_,
            [&](const Vec3& p) {
                const Vec3 v = g_.to_voxel(p);
                return inside(v.x(), v.y());
            },
            0.1);
        return parted_mm(brick, chain_at(12), chain_at(20), ridge_grey, 3);
    }
};

// A broad oval canal has room for two ways; upper premolars with one were once told to have two.
TEST_F(TwoWays, AreNotPartedWithinOneBroadLumen) {
    EXPECT_EQ(parted([](double x, double y) {
                  return std::pow((x - 16) / 9, 2) + std::pow((y - 10) / 3, 2) < 1;
              }),
              0);
}

TEST_F(TwoWays, ArePartedByDentineBetweenTwoNarrowLumens) {
    // 0.3 mm wide each; the chains are 15 steps of a voxel long.
    const auto tube = [](double x, double y, double at) {
        return std::hypot(x - at, y - 10) * voxel_mm < 0.15;
    };
    EXPECT_DOUBLE_EQ(parted([&](double x, double y) { return tube(x, y, 12) || tube(x, y, 20); }),
                     15 * voxel_mm);
}

TEST_F(TwoWays, ArePartedWhereTheyAreFurtherFromEachOtherThanAnyLumenIsBroad) {
    const Brick brick{g_, std::vector<float>(g_.voxel_count(), 60.0F)};
    EXPECT_EQ(parted_mm(brick, chain_at(3), chain_at(29), ridge_grey, 3.5), 0);
    EXPECT_GT(parted_mm(brick, chain_at(3), chain_at(29), ridge_grey, 3.0), 1.8);
}

}  // namespace
}  // namespace anfract::tracing
