// Projection, reconstruction and the artefacts of metal.

#include "anfract/phantom/metal.h"

#include <gtest/gtest.h>

#include <cmath>

namespace anfract {
namespace {

// Discs with a smooth edge of one pixel.
Image disc(int n, double pixel_mm, double cx, double cy, double radius_mm, float value) {
    Image image(n, n, pixel_mm);
    for (int y = 0; y < n; ++y) {
        for (int x = 0; x < n; ++x) {
            const double d = std::hypot((x - 0.5 * (n - 1)) * pixel_mm - cx,
                                        (y - 0.5 * (n - 1)) * pixel_mm - cy);
            image.at(x, y) =
                value * static_cast<float>(std::clamp(0.5 - (d - radius_mm) / pixel_mm, 0.0, 1.0));
        }
    }
    return image;
}

double mean_within(const Image& image, double cx, double cy, double radius_mm) {
    double sum = 0;
    int count = 0;
    for (int y = 0; y < image.ny; ++y) {
        for (int x = 0; x < image.nx; ++x) {
            const double d = std::hypot((x - 0.5 * (image.nx - 1)) * image.pixel_mm - cx,
                                        (y - 0.5 * (image.ny - 1)) * image.pixel_mm - cy);
            if (d > radius_mm) continue;
            sum += static_cast<double>(image.at(x, y));
            ++count;
        }
    }
    return sum / count;
}

// The chord of a disc: 2 sqrt(r^2 - t^2) at the distance t from its centre.
TEST(Projector, MeasuresTheChordsOfADisc) {
    const Image image = disc(128, 0.125, 1.0, -0.5, 5, 1);
    const Sinogram sinogram = project(image, 36);
    for (int a = 0; a < 36; ++a) {
        const double angle = M_PI * a / 36;
        for (int b = 0; b < sinogram.bins; ++b) {
            const double t =
                (b - 0.5 * (sinogram.bins - 1)) * 0.125 - (std::cos(angle) - 0.5 * std::sin(angle));
            if (std::abs(t) > 4.7) continue;
            EXPECT_NEAR(sinogram.row(a)[b], 2 * std::sqrt(25 - t * t), 0.08) << a << " " << b;
        }
    }
}

TEST(Projector, ReturnsAUniformDiscToItsValue) {
    const Image image = disc(128, 0.125, 1.0, -0.5, 5, 1.7F);
    const Image back = back_project(project(image, 240), 128, 128);
    EXPECT_NEAR(mean_within(back, 1.0, -0.5, 4.5), 1.7, 0.017);  // 1 %
    EXPECT_NEAR(mean_within(back, 1.0, -0.5, 1.0), 1.7, 0.034);
    EXPECT_NEAR(mean_within(back, -6.0, 5.5, 1.0), 0, 0.034);
}

TEST(Beam, IsCorrectedForWater) {
    const Beam beam;
    for (const double water_mm : {1.0, 50.0, 200.0}) {
        EXPECT_NEAR(beam.water_equivalent_mm(beam.absorption(water_mm, 0)), water_mm, 1e-6);
    }
    // The slope at no metal, by a difference.
    const double step = 1e-4;
    const double grown = beam.water_equivalent_mm(beam.absorption(beam.outside_mm, step));
    EXPECT_NEAR((grown - beam.outside_mm) / step, beam.thin_metal_ratio(), 0.01);
    // Thick metal hardens the beam: it absorbs less than in proportion.
    const double thick =
        beam.water_equivalent_mm(beam.absorption(beam.outside_mm, 3)) - beam.outside_mm;
    EXPECT_LT(thick, 0.9 * 3 * beam.thin_metal_ratio());
}

class Streaks : public testing::Test {
  protected:
    static Image metal(bool both) {
        Image image = disc(120, 0.125, -3, 0, 0.9, 1);
        const Image other = disc(120, 0.125, 3, 0, 0.9, 1);
        if (both) {
            for (std::size_t i = 0; i < image.values.size(); ++i)
                image.values[i] += other.values[i];
        }
        return image;
    }
    const Image tissue = disc(120, 0.125, 0, 0, 6.5, 2.6F);  // dentine
    const Beam beam;
};

// Between two pieces of metal lies a dark band; above and below it does not. That hardening leaves
// such bands is textbook knowledge (common practice, no source); the sizes are those of this beam.
TEST_F(Streaks, ADarkBandLiesBetweenTwoPiecesOfMetal) {
    const Image artefact = metal_artefact(tissue, metal(true), beam, 1, 0);
    const double between = mean_within(artefact, 0, 0, 0.6);
    const double above = mean_within(artefact, 0, 4, 0.6);
    RecordProperty("between_grey", std::to_string(between));
    RecordProperty("above_grey", std::to_string(above));
    EXPECT_LT(between, -400);
    EXPECT_GT(above, -150);
    EXPECT_LT(above, 500);
}

// The middle of a thick piece is under-read more than its edge: cupping.
TEST_F(Streaks, MetalIsCupped) {
    Image block = disc(120, 0.125, 0, 0, 2.0, 1);
    const Image artefact = metal_artefact(tissue, block, beam, 1, 0);
    const double middle = mean_within(artefact, 0, 0, 0.5);
    double rim = 0;
    int count = 0;
    for (int a = 0; a < 24; ++a, ++count) {
        rim += mean_within(artefact, 1.6 * std::cos(a * M_PI / 12), 1.6 * std::sin(a * M_PI / 12),
                           0.15);
    }
    EXPECT_LT(middle, rim / count - 1000);
    EXPECT_LT(middle, 0);
}

TEST_F(Streaks, WithoutMetalThereAreNone) {
    const Image none(120, 120, 0.125);
    const Image artefact = metal_artefact(tissue, none, beam, 1, 0);
    for (const float value : artefact.values) ASSERT_EQ(value, 0.0F);
}

TEST_F(Streaks, OneRoundPieceLeavesNoBandToOneSide) {
    const Image artefact = metal_artefact(tissue, metal(false), beam, 1, 0);
    // Four places at the same distance from it read the same within the photon noise.
    const double right = mean_within(artefact, -0.5, 0, 0.4),
                 left = mean_within(artefact, -5.5, 0, 0.4);
    const double above = mean_within(artefact, -3, 2.5, 0.4),
                 below = mean_within(artefact, -3, -2.5, 0.4);
    EXPECT_NEAR(right, above, 150);
    EXPECT_NEAR(left, below, 150);
}

}  // namespace
}  // namespace anfract
