#include "anfract/scan/survey.h"

#include <gtest/gtest.h>

#include <cmath>
#include <nlohmann/json.hpp>
#include <numbers>

#include "anfract/base/json_document.h"
#include "anfract/scan/detection.h"
#include "ball_scan.h"

namespace anfract {
namespace {

Volume as_volume(const Brick& brick) {
    Volume volume;
    volume.geometry = brick.geometry;
    std::vector<std::int16_t> stored;
    for (const float v : brick.grey) stored.push_back(std::int16_t(std::lround(v)));
    volume.voxels = stored;
    return volume;
}

/// A tube along k, blurred in its plane, of unit contrast: by numerical convolution of the disc.
std::vector<double> blurred_disc(int n, double voxel_mm, double diameter_mm, double sigma_mm) {
    std::vector<double> values(std::size_t(n) * std::size_t(n), 0);
    const double step = diameter_mm / 40;
    for (double x = -diameter_mm / 2 + step / 2; x < diameter_mm / 2; x += step) {
        for (double y = -diameter_mm / 2 + step / 2; y < diameter_mm / 2; y += step) {
            if (x * x + y * y > diameter_mm * diameter_mm / 4) continue;
            for (int j = 0; j < n; ++j) {
                for (int i = 0; i < n; ++i) {
                    const double dx = (i - n / 2) * voxel_mm - x;
                    const double dy = (j - n / 2) * voxel_mm - y;
                    values[std::size_t(j * n + i)] +=
                        step * step / (2 * std::numbers::pi * sigma_mm * sigma_mm) *
                        std::exp(-(dx * dx + dy * dy) / (2 * sigma_mm * sigma_mm));
                }
            }
        }
    }
    return values;
}

}  // namespace

// The matched filter is run on simulated noise: the formula must give its signal over its scatter.
TEST(DetectionIndex, AgreesWithAMatchedFilterOnSimulatedNoise) {
    constexpr int n = 15;
    constexpr double voxel_mm = 0.1;
    constexpr int length = 10;
    for (const double smoothing : {0.0, 0.85}) {
        const DetectionSetting setting{1500, 70, smoothing * voxel_mm, 0.25,
                                       Vec3::Constant(voxel_mm)};
        const double diameter_mm = 0.12;
        const std::vector<double> disc = blurred_disc(n, voxel_mm, diameter_mm, 0.25 / 2.35482);
        GridGeometry grid;
        grid.size = {120, 120, 120};
        const std::vector<float> noise = test::correlated_noise(grid, 70, smoothing, 11);
        double signal = 0;
        for (const double v : disc) signal += 1500 * v * v * length;
        double sum = 0;
        double squares = 0;
        int count = 0;
        for (int k = 6; k + length < 114; k += 5) {
            for (int j = 6; j + n < 114; j += 5) {
                for (int i = 6; i + n < 114; i += 5) {
                    double answer = 0;
                    for (int z = 0; z < length; ++z) {
                        for (int y = 0; y < n; ++y) {
                            for (int x = 0; x < n; ++x) {
                                answer += disc[std::size_t(y * n + x)] *
                                          double(noise[grid.index(i + x, j + y, k + z)]);
                            }
                        }
                    }
                    sum += answer;
                    squares += answer * answer;
                    ++count;
                }
            }
        }
        const double scatter = std::sqrt(squares / count - sum / count * (sum / count));
        // 10 %: the ends of the tube shorten the correlation along it, and the scatter has its own
        // error.
        EXPECT_NEAR(detection_index(setting, diameter_mm, length * voxel_mm), signal / scatter,
                    0.1 * signal / scatter)
            << "noise smoothed by " << smoothing << " voxels";
    }
}

TEST(DetectionIndex, IsTheOneThatTheDetectableDiameterReaches) {
    const DetectionSetting setting{1400, 80, 0.08, 0.3, Vec3(0.1, 0.1, 0.12)};
    for (const double length_mm : {1.0, 3.0}) {
        const double diameter_mm = detectable_diameter_mm(setting, length_mm, 5);
        EXPECT_NEAR(detection_index(setting, diameter_mm, length_mm), 5, 1e-9);
    }
    // The area needed falls with the square root of the length, so the diameter with its fourth
    // root.
    EXPECT_NEAR(detectable_diameter_mm(setting, 1, 5) / detectable_diameter_mm(setting, 3, 5),
                std::pow(3, 0.25), 1e-12);
}

TEST(TissueLevels, FindsTheGreysThatWerePutIn) {
    Brick brick =
        test::ball_scan({.radius_mm = 2.5, .low_grey = 50, .high_grey = 1600, .noise_sd = 70});
    // A layer of air beside the ball.
    const GridGeometry& g = brick.geometry;
    for (int k = 0; k < 10; ++k) {
        for (int j = 0; j < g.size[1]; ++j) {
            for (int i = 0; i < g.size[0]; ++i) brick.at(i, j, k) -= 1050;
        }
    }
    const std::vector<TissueLevel> levels = tissue_levels(brick);
    ASSERT_EQ(levels.size(), 3u);
    const double greys[] = {-1000, 50, 1600};
    const char* const names[] = {"air", "soft tissue", "dentine or cortical bone"};
    for (std::size_t n = 0; n < 3; ++n) {
        EXPECT_EQ(levels[n].name, names[n]);
        EXPECT_NEAR(levels[n].grey, greys[n], 15);
    }
}

TEST(Survey, MeasuresAScanAndFollowsItsSchema) {
    OpenedScan scan;
    scan.source = "NRRD";
    scan.volume = as_volume(test::ball_scan({.radius_mm = 3,
                                             .sigma_mm = 0.3 / 2.35482,
                                             .noise_sd = 60,
                                             .noise_smoothing_voxels = 0.7}));
    const Result<Survey> result = survey(scan.volume, Progress());
    ASSERT_TRUE(result) << result.error().sentence();
    ASSERT_TRUE(result->noise && result->sharpness);
    EXPECT_NEAR(result->noise->sd_grey, 60, 4);
    EXPECT_NEAR(result->sharpness->fwhm_mm, 0.3, 0.02);
    ASSERT_EQ(result->visible.size(), 2u);
    EXPECT_LT(result->visible[1].diameter_mm, result->visible[0].diameter_mm);
    EXPECT_NEAR(result->half_maximum_limit_mm, result->sharpness->fwhm_mm, 1e-9);
    const std::string text = survey_document(scan, *result).dump();
    const auto parsed = parse_document(text, "anfract.survey", "test");
    EXPECT_TRUE(parsed) << parsed.error().sentence();
    EXPECT_NE(survey_text(scan, *result).find("not a cleared medical device"), std::string::npos);
}

TEST(Survey, SaysWhatItCannotMeasure) {
    OpenedScan scan;
    scan.source = "NRRD";
    scan.volume.geometry.size = {4, 4, 4};
    scan.volume.voxels = std::vector<std::int16_t>(64, 7);
    const Result<Survey> result = survey(scan.volume, Progress());
    ASSERT_TRUE(result) << result.error().sentence();
    EXPECT_FALSE(result->noise || result->sharpness);
    EXPECT_NE(result->verdict.front().find("could not be measured"), std::string::npos);
    const auto parsed =
        parse_document(survey_document(scan, *result).dump(), "anfract.survey", "test");
    EXPECT_TRUE(parsed) << parsed.error().sentence();
    EXPECT_EQ(survey(Volume{}, Progress()).error().code, ErrorCode::BadInput);
}

}  // namespace anfract
