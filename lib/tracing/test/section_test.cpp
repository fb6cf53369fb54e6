#include "section.h"

#include <gtest/gtest.h>

#include <Eigen/Geometry>
#include <numbers>
#include <random>

#include "canal_fit.h"
#include "synthetic.h"

namespace anfract::tracing {
namespace {

constexpr double voxel_mm = 0.125;
constexpr double blur_mm = 0.1;

SectionSetting setting(double noise) {
    SectionSetting s;
    s.pulp_grey = synthetic::pulp;
    s.dentine_grey = synthetic::dentine;
    s.noise = noise;
    s.noise_cell_mm3 = voxel_mm * voxel_mm * voxel_mm;
    s.sigma_psf_mm =
        std::sqrt(blur_mm * blur_mm + voxel_mm * voxel_mm / 6);  // two boxes: voxel and kernel
    s.voxel_mm = voxel_mm;
    s.slab_mm = 0.4;
    return s;
}

/// A straight tube leaning by 20 degrees, off the grid, with half diameters a, b across it.
struct Tube {
    Vec3 at{4.53, -38.41, 13.5};
    Vec3 axis = Vec3(0.342, 0, 0.940).normalized();
    double a_mm, b_mm;

    bool operator()(const Vec3& p) const {
        const Vec3 off = p - at;
        const double v = off.y();
        const double u = off.dot(Vec3(axis.z(), 0, -axis.x()));
        return u * u / (a_mm * a_mm) + v * v / (b_mm * b_mm) < 1;
    }
};

Station station_on(const Tube& tube) {
    Station s;
    s.point_P = tube.at;
    s.tangent_P = tube.axis;
    s.n1_P = Vec3(tube.axis.z(), 0, -tube.axis.x());
    s.n2_P = s.tangent_P.cross(s.n1_P);
    return s;
}

const Share everything = [](const Vec3&) { return 1.0; };

class WidthOfATube : public testing::TestWithParam<double> {};

// The integral of what is missing is the area whatever the blur: pi d^2 / 4 in closed form.
TEST_P(WidthOfATube, IsFoundBelowTheWidthOfThePointSpread) {
    const double diameter = GetParam();
    const Tube tube{.a_mm = diameter / 2, .b_mm = diameter / 2};
    const Brick brick =
        synthetic::body_in_dentine(synthetic::grid(26, 26, 26, voxel_mm), tube, blur_mm);
    const SectionMeasure m =
        measure_section(sample_section(brick, station_on(tube), 1.2, 0.4, everything), setting(0));
    ASSERT_TRUE(m.valid);
    EXPECT_NEAR(std::sqrt(4 * m.area_mm2 / std::numbers::pi), diameter, 0.04 * diameter);
    EXPECT_NEAR(m.x_mm, 0, 0.02);
    EXPECT_NEAR(m.y_mm, 0, 0.02);
}
INSTANTIATE_TEST_SUITE_P(Diameters, WidthOfATube, testing::Values(0.15, 0.2, 0.25, 0.35, 0.5, 0.8));

TEST(SectionMeasure, GivesTheMomentsOfAnEllipse) {
    const Tube tube{.a_mm = 0.25, .b_mm = 0.5};
    const Brick brick =
        synthetic::body_in_dentine(synthetic::grid(26, 26, 26, voxel_mm), tube, blur_mm);
    const SectionMeasure m =
        measure_section(sample_section(brick, station_on(tube), 1.3, 0.4, everything), setting(0));
    // Of an ellipse: a^2 / 4 along each half axis.
    EXPECT_NEAR(m.moment_xx_mm2, 0.25 * 0.25 / 4, 0.004);
    EXPECT_NEAR(m.moment_yy_mm2, 0.5 * 0.5 / 4, 0.006);
    EXPECT_NEAR(m.moment_xy_mm2, 0, 0.003);
}

/// A thin root about the tube, all round it dark.
struct InRoot {
    Tube tube;
    double radius_mm;

    double depth_mm(const Vec3& p) const {
        const Vec3 off = p - tube.at;
        return radius_mm - (off - off.dot(tube.axis) * tube.axis).norm();
    }
    bool operator()(const Vec3& p) const { return tube(p) || depth_mm(p) < 0; }
};

// The blur of the outside darkens the dentine under the surface: read there, the dentine would
// seem darker than it is and the canal narrower. Its area is pi d^2 / 4 in closed form.
TEST(SectionMeasure, ReadsNoDentineWhereTheOutsideShows) {
    const InRoot root{{.a_mm = 0.1, .b_mm = 0.1}, 0.75};
    const Brick brick =
        synthetic::body_in_dentine(synthetic::grid(26, 26, 26, voxel_mm), root, blur_mm);
    const double sigma = setting(0).sigma_psf_mm;
    const auto width = [&](double ground_sigma) {
        const Share share = [&](const Vec3& p) -> PlaceShare {
            const double depth = root.depth_mm(p);
            return {depth < 1.6 * sigma ? 0.0 : 1.0, depth > ground_sigma * sigma};
        };
        const SectionMeasure m = measure_section(
            sample_section(brick, station_on(root.tube), 1.0, 0.4, share), setting(0));
        return std::sqrt(4 * m.area_mm2 / std::numbers::pi);
    };
    EXPECT_NEAR(width(2.5), 0.2, 0.04 * 0.2);
    EXPECT_LT(width(1.6), 0.95 * 0.2);
}

// Also where noise makes the integral negative, and the centroid is none.
TEST(SectionMeasure, IsRightOnAverageForACanalThatNoiseHides) {
    const GridGeometry g = synthetic::grid(20, 20, 20, voxel_mm);
    const Tube tube{.at = g.to_patient(Vec3(9.6, 9.4, 9.5)), .a_mm = 0.05, .b_mm = 0.05};
    const Brick clean = synthetic::body_in_dentine(g, tube, blur_mm);
    std::mt19937 random(7);
    std::normal_distribution<float> noise(0, 200);
    SectionSetting known = setting(200);
    known.place_sd_mm = 0.05;
    double sum = 0;
    constexpr int rounds = 80;
    for (int round = 0; round < rounds; ++round) {
        Brick brick = clean;
        for (float& grey : brick.grey) grey += noise(random);
        const SectionMeasure m =
            measure_section(sample_section(brick, station_on(tube), 0.95, 0.4, everything), known);
        ASSERT_TRUE(m.valid);
        ASSERT_TRUE(std::isfinite(m.area_mm2));
        sum += m.area_mm2 / rounds;
    }
    EXPECT_NEAR(sum, std::numbers::pi * 0.01 / 4, 0.002);
}

TEST(SectionMeasure, StatesTheScatterThatNoiseCauses) {
    const Tube tube{.a_mm = 0.125, .b_mm = 0.125};
    const Brick clean =
        synthetic::body_in_dentine(synthetic::grid(26, 26, 26, voxel_mm), tube, blur_mm);
    std::mt19937 random(5);
    std::normal_distribution<float> noise(0, 70);
    double sum = 0, squares = 0, stated = 0;
    constexpr int rounds = 60;
    for (int round = 0; round < rounds; ++round) {
        Brick brick = clean;
        for (float& grey : brick.grey) grey += noise(random);
        const SectionMeasure m = measure_section(
            sample_section(brick, station_on(tube), 1.0, 0.4, everything), setting(70));
        sum += m.area_mm2 / rounds;
        squares += m.area_mm2 * m.area_mm2 / rounds;
        stated += m.area_sd_mm2 / rounds;
    }
    const double scatter = std::sqrt(squares - sum * sum);
    EXPECT_NEAR(sum, std::numbers::pi * 0.0625 / 4, 0.006);
    // 60 rounds know a standard deviation to 9 %; the statement leaves out interpolation.
    EXPECT_GT(stated, 0.6 * scatter);
    EXPECT_LT(stated, 1.7 * scatter);
}

ToothBody solid_body(const GridGeometry& g) {
    ToothBody body;
    body.solid.assign(g.voxel_count(), 1);
    body.depth = {g, std::vector<float>(g.voxel_count(), 3.0F)};
    return body;
}

GreyLevels nearly_quiet() {
    GreyLevels levels;
    levels.pulp = synthetic::pulp;
    levels.dentine = synthetic::dentine;
    levels.noise = 1;
    levels.noise_cell_mm3 = 0.002;
    levels.sigma_psf_mm = setting(0).sigma_psf_mm;
    return levels;
}

// Half way down another canal has run into this one: from there on both are one lumen, which is as
// wide as it shows and no narrower.
TEST(FitCanal, MeasuresWhereTwoCanalsAreOne) {
    const GridGeometry g = synthetic::grid(24, 24, 60, voxel_mm);
    const Vec3 axis = g.to_patient(Vec3(11.6, 11.3, 0));
    const auto width_at = [&](double z) {
        return 0.25 + 0.08 * std::max(0.0, z - g.origin_P.z() - 3.5);
    };
    const Brick brick = synthetic::body_in_dentine(
        g,
        [&](const Vec3& p) {
            return std::hypot(p.x() - axis.x(), p.y() - axis.y()) < width_at(p.z()) / 2;
        },
        blur_mm);
    const auto along = [&](double from, double to) {
        std::vector<Vec3> points;
        for (double z = from; z <= to; z += 0.1) points.push_back(axis + Vec3(0, 0, z));
        return Polyline(points);
    };
    const ToothBody body = solid_body(g);
    const GreyLevels levels = nearly_quiet();
    const FittedCanal fit = fit_canal(
        {brick, body, levels, along(1, 6.5), {unfitted(along(3, 6.5)).sections}, false, false, {}});
    for (std::size_t n = 3; n + 3 < fit.sections.size(); ++n) {
        const double width_mm = width_at(fit.sections[n].station.point_P.z());
        EXPECT_NEAR(fit.sections[n].diameter_mm, width_mm, 0.06 * width_mm);
    }
}

TEST(FitCanal, FindsACurvedTube) {
    // A quarter-like arc of radius 6 mm in the plane y = const, 0.3 mm wide.
    const GridGeometry g = synthetic::grid(44, 30, 60, voxel_mm);
    const Vec3 centre = g.to_patient(Vec3(-20, 14.3, 30.2));
    const double radius = 6;
    const auto inside = [&](const Vec3& p) {
        const double in_plane = std::hypot(p.x() - centre.x(), p.z() - centre.z());
        return std::hypot(in_plane - radius, p.y() - centre.y()) < 0.15;
    };
    const Brick brick = synthetic::body_in_dentine(g, inside, blur_mm);
    const ToothBody body = solid_body(g);
    const GreyLevels levels = nearly_quiet();

    // A start that is off by up to 0.15 mm.
    std::vector<Vec3> start;
    for (double angle = -0.4; angle <= 0.4; angle += 0.02) {
        const double r = radius + 0.1 * std::sin(15 * angle);
        start.push_back(centre +
                        Vec3(r * std::cos(angle), 0.1 * std::cos(9 * angle), r * std::sin(angle)));
    }
    // The tube has no chamber at its start, so its first millimetre is to be believed.
    const FittedCanal fit = fit_canal({brick, body, levels, Polyline(start), {}, false, false, {}});
    for (std::size_t n = 3; n + 3 < fit.sections.size(); ++n) {
        const Vec3 p = fit.sections[n].station.point_P;
        const double in_plane = std::hypot(p.x() - centre.x(), p.z() - centre.z());
        EXPECT_LT(std::hypot(in_plane - radius, p.y() - centre.y()), 0.03);
        EXPECT_NEAR(fit.sections[n].diameter_mm, 0.3, 0.02);
    }
}

}  // namespace
}  // namespace anfract::tracing
