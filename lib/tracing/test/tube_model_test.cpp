#include "tube_model.h"

#include <gtest/gtest.h>

#include <cmath>
#include <numbers>

namespace anfract::tracing {
namespace {

TubeModel model(double diameter_mm, double ratio) {
    TubeModel m;
    m.area_mm2 = std::numbers::pi / 4 * diameter_mm * diameter_mm;
    m.ratio = ratio;
    m.long_axis_rad = 0.4;
    m.sigma_mm = 0.12;
    return m;
}

TubeOnGrid::Value at(const TubeModel& tube, const Vec2& place_mm) {
    return TubeOnGrid(tube, {place_mm.x()}, {place_mm.y()}).at(0, 0);
}

// Blur moves what is missing but loses none: the integral is the area.
TEST(TubeModel, IntegratesToItsArea) {
    for (const double ratio : {1.0, 2.0}) {
        const TubeModel tube = model(0.4, ratio);
        constexpr double step = 0.02;
        double sum = 0;
        for (double y = -1.5; y < 1.5; y += step) {
            for (double x = -1.5; x < 1.5; x += step)
                sum += at(tube, Vec2(x, y)).missing * step * step;
        }
        EXPECT_NEAR(sum, tube.area_mm2, 1e-4);
    }
}

// The value at the middle of a disc of diameter d blurred by a Gaussian s is
// 1 - exp(-d^2 / (8 s^2)), the Rayleigh distribution.
TEST(TubeModel, IsTheRayleighShareAtTheMiddleOfADisc) {
    for (const double d : {0.15, 0.3, 0.5})
        EXPECT_NEAR(at(model(d, 1), Vec2(0, 0)).missing, 1 - std::exp(-d * d / (8 * 0.12 * 0.12)),
                    0.001);
}

TEST(TubeModel, GrowsWithItsAreaAsItSays) {
    const Vec2 place(0.2, 0.11);
    TubeModel more = model(0.4, 1.7), less = more;
    const double change = 1e-4 * more.area_mm2;
    more.area_mm2 += change;
    less.area_mm2 -= change;
    EXPECT_NEAR(at(model(0.4, 1.7), place).by_area,
                (at(more, place).missing - at(less, place).missing) / (2 * change), 1e-5);
}

// The centroid of a section that is all noise may lie anywhere; one far outside once gave a
// diameter that was no number.
TEST(FitArea, IsZeroForATubeOutsideTheWindow) {
    SectionImage image;
    image.half = 8;
    image.pixel_mm = 0.07;
    const auto count = std::size_t(image.side()) * std::size_t(image.side());
    image.grey.assign(count, 1600);
    image.share.assign(count, 1);
    SectionSetting setting;
    setting.noise = 70;
    setting.noise_cell_mm3 = 0.002;
    setting.voxel_mm = 0.125;
    setting.slab_mm = 0.4;
    for (const double away_mm : {0.0, 1.5, 2.5, 3.0, 4.0, 20.0}) {
        TubeModel tube = model(0.3, 1);
        tube.centre_mm = Vec2(away_mm, 0);
        const AreaFit fit =
            fit_area(image, std::vector<float>(count, 0.1F),
                     std::vector<PixelRole>(count, PixelRole::Window), setting, 1540, tube);
        EXPECT_TRUE(std::isfinite(fit.area_mm2) && std::isfinite(fit.sd_mm2)) << away_mm;
        EXPECT_EQ(fit.area_mm2 > 0, away_mm < 1) << away_mm;
    }
}

}  // namespace
}  // namespace anfract::tracing
