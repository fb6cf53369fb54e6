#include "anfract/scan/sharpness.h"

#include <gtest/gtest.h>

#include "ball_scan.h"

namespace anfract {

using test::ball_scan;

// The truth is the Gaussian of the closed form; 5 % is what the header promises.
TEST(EstimateSharpness, RecoversTheWidthOfTheBlur) {
    for (const double voxel_mm : {0.1, 0.2}) {
        for (const double fwhm_mm : {0.2, 0.3, 0.5}) {
            // Below two voxels the blur is not resolved by the grid.
            if (fwhm_mm < 1.4 * voxel_mm) continue;
            const Brick brick = ball_scan({.radius_mm = voxel_mm * 28,
                                           .voxel_mm = voxel_mm,
                                           .sigma_mm = fwhm_mm / 2.3548,
                                           .noise_sd = 70,
                                           .noise_smoothing_voxels = 0.7});
            const Result<Sharpness> sharpness = estimate_sharpness(brick);
            ASSERT_TRUE(sharpness) << sharpness.error().sentence();
            EXPECT_NEAR(sharpness->fwhm_mm, fwhm_mm, 0.05 * fwhm_mm) << "voxel " << voxel_mm;
            // The profile ends before the plateau of a curved surface, so the step comes out a
            // little high.
            EXPECT_NEAR(sharpness->contrast_grey, 1550, 0.05 * 1550);
            EXPECT_LT(sharpness->fwhm_sd_mm, 0.02);
        }
    }
}

TEST(EstimateSharpness, DoesNotDependOnGreyScale) {
    Brick brick = ball_scan({.noise_sd = 50});
    const double before = estimate_sharpness(brick)->fwhm_mm;
    for (float& v : brick.grey) v = 0.2f * v + 500;
    EXPECT_NEAR(estimate_sharpness(brick)->fwhm_mm, before, 1e-3);
}

TEST(EstimateSharpness, SaysWhenThereAreNoEdges) {
    Brick brick;
    EXPECT_EQ(estimate_sharpness(brick).error().code, ErrorCode::NotConverged);
    brick.geometry.size = {30, 30, 30};
    brick.grey = test::correlated_noise(brick.geometry, 50, 0.8, 3);
    EXPECT_EQ(estimate_sharpness(brick).error().code, ErrorCode::NotConverged);
}

}  // namespace anfract
