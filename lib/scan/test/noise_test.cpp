#include "anfract/scan/noise.h"

#include <gtest/gtest.h>

#include "ball_scan.h"

namespace anfract {

using test::ball_scan;

// The truth is the noise that was put in; the header says how close the estimate comes.
TEST(EstimateNoise, RecoversWhiteAndSmoothedNoise) {
    for (const double smoothing : {0.0, 0.6, 0.9, 1.2}) {
        for (const double sd : {40.0, 120.0}) {
            // Smoothed noise has few independent values in one ball, so three draws are averaged.
            double mean = 0;
            Result<Noise> noise;
            for (unsigned seed = 1; seed <= 3; ++seed) {
                noise = estimate_noise(ball_scan({.radius_mm = 2.5,
                                                  .noise_sd = sd,
                                                  .noise_smoothing_voxels = smoothing,
                                                  .seed = seed}));
                ASSERT_TRUE(noise) << noise.error().sentence();
                mean += noise->sd_grey / 3;
            }
            EXPECT_NEAR(mean, sd, (smoothing > 1 ? 0.08 : 0.05) * sd)
                << "smoothed by " << smoothing << " voxels";
            EXPECT_NEAR(noise->correlation_mm, 0.1 * smoothing, 0.03);
        }
    }
}

TEST(EstimateNoise, ScalesWithTheGreyValues) {
    Brick brick = ball_scan({.radius_mm = 2, .noise_sd = 50});
    const double before = estimate_noise(brick)->sd_grey;
    for (float& v : brick.grey) v = 3 * v + 500;
    EXPECT_NEAR(estimate_noise(brick)->sd_grey, 3 * before, 1e-3 * before);
}

// A slope and a bend in the tissue are no noise: grey + 40 sin((x + y) / 0.8 mm) under noise of 30.
TEST(EstimateNoise, DoesNotTakeStructureForNoise) {
    Brick brick = ball_scan({.radius_mm = 2.5, .noise_sd = 30, .noise_smoothing_voxels = 0.7});
    const GridGeometry& g = brick.geometry;
    for (int k = 0; k < g.size[2]; ++k) {
        for (int j = 0; j < g.size[1]; ++j) {
            for (int i = 0; i < g.size[0]; ++i) {
                brick.at(i, j, k) += 40 * float(std::sin(0.1 * (i + j) / 0.8));
            }
        }
    }
    const Result<Noise> noise = estimate_noise(brick);
    ASSERT_TRUE(noise);
    EXPECT_NEAR(noise->sd_grey, 30, 0.1 * 30);
}

TEST(EstimateNoise, IsZeroWithoutNoise) {
    Brick brick = ball_scan({.radius_mm = 2});
    for (float& v : brick.grey) v = v > 800 ? 1600.0f : 50.0f;
    const Result<Noise> noise = estimate_noise(brick);
    ASSERT_TRUE(noise);
    EXPECT_EQ(noise->sd_grey, 0);
}

TEST(EstimateNoise, SaysWhenThereIsTooLittleTissue) {
    Brick brick;
    EXPECT_EQ(estimate_noise(brick).error().code, ErrorCode::NotConverged);
    brick.geometry.size = {9, 9, 9};
    brick.grey.assign(729, 1.0f);
    EXPECT_EQ(estimate_noise(brick).error().code, ErrorCode::NotConverged);
}

}  // namespace anfract
