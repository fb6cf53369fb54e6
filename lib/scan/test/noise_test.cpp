#include "anfract/scan/noise.h"

#include <gtest/gtest.h>

#include "ball_scan.h"

namespace anfract {

using test::ball_scan;

// The truth is the noise that was put in; 5 % is what the header promises.
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
            EXPECT_NEAR(mean, sd, 0.05 * sd) << "smoothed by " << smoothing << " voxels";
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
