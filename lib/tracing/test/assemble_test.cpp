#include "assemble.h"

#include <gtest/gtest.h>

#include <cmath>

namespace anfract::tracing {
namespace {

TracedCanal straight_canal(const Vec3& from_P, const Vec3& to_P) {
    TracedCanal canal;
    canal.fit = unfitted(Polyline({from_P, to_P}));
    return canal;
}

TEST(WholeCanals, HaveNoGapWhereOneRunsIntoAnother) {
    // The second ends 1.3 mm from the first, as coarse voxels may leave it.
    std::vector<TracedCanal> traced{straight_canal(Vec3(0, 0, 10), Vec3(0, 0, 0)),
                                    straight_canal(Vec3(3, 0, 10), Vec3(1.3, 0, 5))};
    traced[1].path.joins = 0;
    const std::vector<WholeCanal> whole = whole_canals(traced);
    const Canal canal = to_canal(whole[1], traced[1], Vec3(3, 0, 12),
                                 Brick{GridGeometry{{2, 2, 2}}, std::vector<float>(8, 1.0F)});
    EXPECT_NEAR((canal.foramen_P - Vec3(0, 0, 0)).norm(), 0, 1e-9);
    // The file promises samples at most 0.25 mm apart.
    for (std::size_t n = 1; n < canal.samples.size(); ++n) {
        EXPECT_LE(canal.samples[n].depth_mm - canal.samples[n - 1].depth_mm, 0.25);
        EXPECT_GT(canal.samples[n].depth_mm, canal.samples[n - 1].depth_mm);
    }
    // Its own part still ends where its fit does.
    EXPECT_EQ(whole[1].sections[whole[1].own_to - 1].station.point_P, Vec3(1.3, 0, 5));
}

// The integral of a random walk of directions: turn_sd l^(3/2) / sqrt(3) after l mm, closed form; 7
// degrees over the root of a mm.
TEST(WholeCanals, AreTheLessSureTheFurtherTheyAreGuessed) {
    std::vector<TracedCanal> traced{straight_canal(Vec3(0, 0, 10), Vec3(0, 0, 0))};
    traced[0].path.unseen_mm = 4;
    const std::vector<WholeCanal> whole = whole_canals(traced);
    const Canal canal = to_canal(whole[0], traced[0], Vec3(0, 0, 12),
                                 Brick{GridGeometry{{2, 2, 2}}, std::vector<float>(8, 1.0F)});
    for (const CanalSample& sample : canal.samples) {
        const double guessed_mm = std::max(0.0, 4 - sample.point_P.z());
        EXPECT_NEAR(sample.point_sd_mm, 0.07053 * std::pow(guessed_mm, 1.5), 1e-3);
    }
}

}  // namespace
}  // namespace anfract::tracing
