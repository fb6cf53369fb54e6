#include "levels.h"

#include <gtest/gtest.h>

#include <random>

#include "synthetic.h"

namespace anfract::tracing {
namespace {

// A thin crown in air, as of a lower incisor, over gum and jaw: most of what is near is air, and
// Otsu's split parts air from all the rest. Dentine was once taken to be soft tissue there.
TEST(Levels, AreThoseOfTheToothWhereMostRoundItIsAir) {
    const GridGeometry g = synthetic::grid(72, 72, 72, 0.25);
    Brick brick{g, std::vector<float>(g.voxel_count())};
    std::mt19937 bits(7);
    std::normal_distribution<float> noise(0, 70);
    for (int k = 0; k < 72; ++k) {
        for (int j = 0; j < 72; ++j) {
            for (int i = 0; i < 72; ++i) {
                const double x = 0.25 * (i - 36), y = 0.25 * (j - 36), z = 0.25 * (k - 36);
                const double off = std::hypot(x, y);
                float grey = -1000;
                if (z > -3 && std::abs(y) < 5) grey = 50;
                if (z > 5 && std::abs(y) < 4) grey = 1500;
                if (std::abs(x) < 1.9 && std::abs(y) < 2.4) grey = 1600;
                if (off < 0.9) grey = 60;
                brick.at(i, j, k) = grey;
            }
        }
    }
    brick = smooth(brick, 0.15, 1);
    for (float& grey : brick.grey) grey += noise(bits);
    const Result<GreyLevels> levels = read_levels(brick, g.to_patient(Vec3(36, 36, 36)), 1);
    ASSERT_TRUE(levels) << levels.error().sentence();
    EXPECT_NEAR(levels->dentine, 1600, 50);
    EXPECT_NEAR(levels->pulp, 60, 150);
}

}  // namespace
}  // namespace anfract::tracing
