#include "isthmus.h"

#include <gtest/gtest.h>

#include <cmath>
#include <numbers>

#include "isthmus_range.h"
#include "tube_mixture.h"
#include "tube_model.h"

namespace anfract::tracing {
namespace {

SectionSetting setting() {
    SectionSetting s;
    s.pulp_grey = 0;
    s.dentine_grey = 1000;
    s.noise = 40;
    s.noise_cell_mm3 = 0.035;
    s.sigma_psf_mm = 0.11;
    s.voxel_mm = 1e-6;  // the images are drawn, not interpolated
    s.slab_mm = 0.4;
    return s;
}

SectionImage dentine() {
    SectionImage image;
    image.pixel_mm = 0.07;
    image.half = 25;
    const auto count = std::size_t(image.side() * image.side());
    image.grey.assign(count, 1000);
    image.share.assign(count, 1);
    image.ground.assign(count, 1);
    return image;
}

void draw_canal(SectionImage& image, const Vec2& centre_mm, double diameter_mm) {
    TubeModel tube;
    tube.centre_mm = centre_mm;
    tube.area_mm2 = std::numbers::pi / 4 * diameter_mm * diameter_mm;
    tube.sigma_mm = 0.11;
    std::vector<double> places_mm;
    for (int x = -image.half; x <= image.half; ++x) places_mm.push_back(x * image.pixel_mm);
    const TubeOnGrid shown(tube, places_mm, places_mm);
    for (std::size_t n = 0; n < image.grey.size(); ++n) {
        image.grey[n] -=
            static_cast<float>(1000 * shown.at(n % places_mm.size(), n / places_mm.size()).missing);
    }
}

/// A blurred strip along x from one place to another: differences of error functions.
void draw_sheet(SectionImage& image, double thickness_mm, double from_mm, double to_mm) {
    const auto part = [](double v) { return 0.5 * std::erf(v / (0.11 * std::numbers::sqrt2)); };
    for (int y = -image.half; y <= image.half; ++y) {
        for (int x = -image.half; x <= image.half; ++x) {
            const Vec2 p = Vec2(x, y) * image.pixel_mm;
            const double across = part(p.y() + thickness_mm / 2) - part(p.y() - thickness_mm / 2);
            const double along = part(p.x() - from_mm) - part(p.x() - to_mm);
            image.grey[image.index(x, y)] -= static_cast<float>(1000 * across * along);
        }
    }
}

TEST(Isthmus, IsFoundAsThickAsItIsAndFilledSoThatTheCanalLiesWhereItDid) {
    SectionImage image = dentine();
    draw_canal(image, {0, 0}, 0.4);
    draw_canal(image, {1.8, 0}, 0.4);
    draw_sheet(image, 0.15, 0.2, 1.6);
    const double drawn_mm = measure_section(image, setting()).x_mm;
    const Isthmus found = find_isthmus(image, setting(), {1.8, 0});
    EXPECT_NEAR(found.thickness_mm, 0.15, 0.015);  // as drawn
    fill_isthmus(found, setting(), image);
    for (std::size_t n = 0; n < image.share.size(); ++n)  // the other canal is another's
        image.share[n] = float(int(n % std::size_t(image.side())) - image.half) * 0.07F < 0.9F;
    EXPECT_GT(drawn_mm, 0.1);
    EXPECT_NEAR(measure_section(image, setting()).x_mm, 0, 0.03);
}

TEST(Isthmus, IsNoneBetweenTwoCanalsWithDentineBetweenThem) {
    SectionImage image = dentine();
    draw_canal(image, {0, 0}, 0.4);
    draw_canal(image, {1.8, 0}, 0.4);
    EXPECT_EQ(find_isthmus(image, setting(), {1.8, 0}).thickness_mm, 0);
}

/// Two canals along z, 1.8 mm apart and 10 mm long, with a sheet of 0.15 mm between them from 4 to
/// 6 mm below their beginning, or none.
Site two_canals(bool with_sheet) {
    Site site;
    site.levels = GreyLevels{0, 1000, 40, 0.035, 0.11};
    GridGeometry& g = site.brick.geometry;
    g.size = {40, 24, 88};
    g.spacing_mm = Vec3::Constant(0.125);
    g.origin_P = Vec3(-1.5, -1.5, -0.5);
    for (int k = 0; k < g.size[2]; ++k) {
        SectionImage layer;
        layer.pixel_mm = 0.125;
        layer.half = 28;
        layer.grey.assign(std::size_t(layer.side() * layer.side()), 1000);
        const double z = g.to_patient(Vec3(0, 0, k)).z();
        draw_canal(layer, {0, 0}, 0.4);
        draw_canal(layer, {1.8, 0}, 0.4);
        if (with_sheet && z > 4 && z < 6) draw_sheet(layer, 0.15, 0.2, 1.6);
        for (int j = 0; j < g.size[1]; ++j) {
            for (int i = 0; i < g.size[0]; ++i)
                site.brick.grey.push_back(layer.grey[layer.index(i - 12, j - 12)]);
        }
    }
    return site;
}

std::vector<TracedCanal> their_lines() {
    std::vector<TracedCanal> canals(2);
    canals[0].fit = unfitted(Polyline({Vec3(0, 0, 0), Vec3(0, 0, 10)}));
    canals[1].fit = unfitted(Polyline({Vec3(1.8, 0, 0), Vec3(1.8, 0, 10)}));
    return canals;
}

TEST(IsthmusRange, SpansTheDepthsOfTheSheet) {
    const auto ranges = isthmus_ranges(two_canals(true), their_lines());
    ASSERT_EQ(ranges.size(), 1U);
    // As drawn; sections are averaged over 0.4 mm.
    EXPECT_NEAR(ranges[0].from_P.z(), 4, 0.3);
    EXPECT_NEAR(ranges[0].to_P.z(), 6, 0.3);
    EXPECT_NEAR(ranges[0].thickness_mm, 0.15, 0.02);
}

TEST(IsthmusRange, IsNoneInDentine) {
    EXPECT_TRUE(isthmus_ranges(two_canals(false), their_lines()).empty());
}

// The places and areas are those drawn.
TEST(TubeMixture, MovesTwoTubesToTheirPlacesFromBetweenThem) {
    SectionImage image = dentine();
    draw_canal(image, {-0.4, 0.1}, 0.3);
    draw_canal(image, {0.4, -0.1}, 0.45);
    std::vector<BlurredTube> tubes{{{-0.1, 0}, 0.07}, {{0.15, 0}, 0.07}};
    separate(image, setting(), tubes);
    EXPECT_NEAR((tubes[0].centre_mm - Vec2(-0.4, 0.1)).norm(), 0, 0.02);
    EXPECT_NEAR((tubes[1].centre_mm - Vec2(0.4, -0.1)).norm(), 0, 0.02);
    EXPECT_NEAR(tubes[0].area_mm2, std::numbers::pi / 4 * 0.3 * 0.3, 0.01);
    EXPECT_NEAR(tubes[1].area_mm2, std::numbers::pi / 4 * 0.45 * 0.45, 0.01);
}

}  // namespace
}  // namespace anfract::tracing
