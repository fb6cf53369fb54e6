#include "canal_widths.h"

#include <gtest/gtest.h>

#include <cmath>
#include <numbers>

namespace anfract::tracing {
namespace {

constexpr double spacing_mm = 0.2;

SectionSetting setting() {
    SectionSetting setting;
    setting.sigma_psf_mm = 0.106;
    return setting;
}

/// An ellipse whose second moments per area are a^2 / 4 and b^2 / 4, the long one along n2.
SectionMeasure ellipse(double long_mm, double short_mm) {
    SectionMeasure m;
    m.valid = true;
    m.area_mm2 = std::numbers::pi / 4 * long_mm * short_mm;
    m.area_sd_mm2 = 0.002;
    m.moment_xx_mm2 = short_mm * short_mm / 16;
    m.moment_yy_mm2 = long_mm * long_mm / 16;
    return m;
}

// A section that holds some of the chamber, or of the outside, says nothing of the canal.
TEST(SmoothWidths, TakesWidthAndShapeOfUnmeasuredEndsFromTheNearestSections) {
    std::vector<SectionMeasure> measures(40, ellipse(0.8, 0.4));
    for (const std::size_t n : {0, 1, 2, 37, 38, 39}) {
        measures[n] = ellipse(3, 3);
        measures[n].valid = false;
    }
    const std::vector<SectionShape> shapes = smooth_widths(measures, {}, spacing_mm, setting());
    ASSERT_EQ(shapes.size(), measures.size());
    for (const SectionShape& shape : shapes) {
        EXPECT_NEAR(shape.diameter_mm, std::sqrt(0.8 * 0.4), 0.005);
        EXPECT_NEAR(shape.ratio, shapes[20].ratio, 0.02);
        EXPECT_NEAR(std::abs(shape.long_axis_rad), std::numbers::pi / 2, 1e-9);
    }
    EXPECT_GT(shapes[20].ratio, 1.7);
    EXPECT_GT(shapes.front().diameter_sd_mm, 1.2 * shapes[20].diameter_sd_mm);
    EXPECT_GT(shapes.back().diameter_sd_mm, 1.2 * shapes[20].diameter_sd_mm);
}

TEST(SmoothWidths, HoldsADrawnWidth) {
    const std::vector<SectionMeasure> measures(40, ellipse(0.5, 0.5));
    const std::vector<SectionShape> shapes =
        smooth_widths(measures, {{20, 0.6}}, spacing_mm, setting());
    EXPECT_NEAR(shapes[20].diameter_mm, 0.6, 0.01);
    EXPECT_NEAR(shapes.front().diameter_mm, 0.5, 0.005);
}

TEST(SmoothWidths, StatesARoundCanalOfWhichNothingIsMeasured) {
    const std::vector<SectionShape> shapes =
        smooth_widths(std::vector<SectionMeasure>(10), {}, spacing_mm, setting());
    for (const SectionShape& shape : shapes) {
        EXPECT_GT(shape.diameter_mm, 0);
        EXPECT_EQ(shape.ratio, 1);
    }
}

}  // namespace
}  // namespace anfract::tracing
